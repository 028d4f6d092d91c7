; Modules: found by name, checked, loaded from the disk when nobody has them in memory yet.

; Small letters stay, capitals become small: A.
small           cmpa #'A
                blo .as_it_is
                cmpa #'Z
                bhi .as_it_is
                ora #$20
.as_it_is       rts

; Compares the text at X with the name at Y, whose last character has bit 7 set. Capitals count as small letters. The
; text's name ends before a blank or anything smaller, a slash, a semicolon, or `&`.
; Carry clear: the same, and X is behind it. Carry set: another, and X has not moved.
same            pshs a,b,x,y
.next           lda ,y
                anda #$7F
                bsr small
                tfr a,b
                lda ,x+
                bsr small
                pshs b
                cmpa ,s+
                bne .other
                tst ,y+                 ; was it the last?
                bpl .next
                lda ,x
                bsr ends_name
                bcc .other
                stx 2,s
                puls a,b,x,y
                andcc #$FE
                rts
.other          puls a,b,x,y
                orcc #$01
                rts

; Carry set: the character in A cannot stand in a name.
ends_name       cmpa #$21
                blo .yes
                cmpa #'/
                beq .yes
                cmpa #';
                beq .yes
                cmpa #'&
                beq .yes
                andcc #$FE
                rts
.yes            orcc #$01
                rts

; Looks for the module named at X. Carry clear: U is the module, Y its entry in the table, X behind the name.
find            pshs d
                ldy #t_modules
.entry          ldu ,y
                beq .next
                pshs y
                ldd m_name,u
                leay d,u
                bsr same
                puls y
                bcc .found
.next           leay 4,y
                cmpy #t_modules_end
                blo .entry
                orcc #$01
                ldb #e_name
                stb 1,s
.found          puls d,pc

; Adds module U to the table: Y its entry. Carry set: the table is full.
add_module      ldy #t_modules
.entry          ldd ,y
                beq .here
                leay 4,y
                cmpy #t_modules_end
                blo .entry
                ldb #e_full
                orcc #$01
                rts
.here           stu ,y
                clr 2,y
                andcc #$FE
                rts

; Checks module U: sync bytes, header parity, and the CRC over all of it, which leaves $800FE3 in the register.
; Carry set: a module that must not be run. Keeps X, Y, U.
check           pshs x,y
                ldd ,u
                cmpd #$87CD
                bne .bad
                tfr u,x
                clra
                ldb #9
.parity         eora ,x+
                decb
                bne .parity
                inca                    ; FF and 1 make 0
                bne .bad
                tfr u,x
                ldy m_size,u
                lda #$FF                ; the register: A, v_mid, B
                sta v_mid
                tfr a,b
.byte           eora ,x+
                repeat 8                ; polynomial $800063, the highest bit first
                aslb
                rol v_mid
                rola
                bcc .no_carry
                eora #$80
                eorb #$63
.no_carry
                endrepeat
                leay -1,y
                bne .byte
                cmpd #$80E3
                bne .bad
                lda v_mid
                cmpa #$0F
                bne .bad
                puls x,y
                andcc #$FE
                rts
.bad            puls x,y
                ldb #e_module
                orcc #$01
                rts

; Enters every module of the boot file in the table. Carry set: one of them is bad.
find_modules    ldu v_boot
.module         lbsr check
                bcs .end
                lbsr add_module
                bcs .end
                inc 2,y                 ; the system itself holds it
                ldd m_size,u
                leau d,u
                cmpu v_bootend
                blo .module
                andcc #$FE
.end            rts

; The configuration module: U. Carry set: there is none.
find_setup      ldy #t_modules
.entry          ldu ,y++
                beq .none
                leay 2,y
                lda m_type,u
                cmpa #type_setup
                bne .entry
                andcc #$FE
                rts
.none           orcc #$01
                rts

; Takes a name from a module, where bit 7 marks the end, into name_buffer, where a zero byte does.
high_name       pshs d,y
                ldy #name_buffer
.next           lda ,x+
                tfr a,b
                anda #$7F
                sta ,y+
                tstb
                bpl .next
                clr ,y
                puls d,y,pc

; g_link. In: X name. Out: U module, held once more; X behind the name.
link            pshs d,y
                lbsr find
                bcc .held
                lbsr load
                bcs .failed
.held           inc 2,y
                andcc #$FE
                puls d,y,pc
.failed         stb 1,s
                puls d,y,pc

; g_unlink. In: U module. It stays in memory until its room is wanted.
unlink          pshs y
                ldy #t_modules
.entry          cmpu ,y
                beq .found
                leay 4,y
                cmpy #t_modules_end
                blo .entry
                puls y,pc
.found          tst 2,y
                beq .none
                dec 2,y
.none           puls y,pc

; Loads the module that the file named at X holds, from the process's folder of programs. Carry clear: U module, Y its
; entry in the table, X behind the name. While the disk is read other processes run; so the room is taken first.
load            ldu v_current
                ldd p_commands,u
                std v_base
                ldu v_disk
                lbsr open_on            ; U path
                bcs .end
                ldd o_size,u            ; no module is longer than 64 KiB
                bne .bad
                ldy o_size+2,u
                cmpy #12
                blo .bad
                bsr make_room           ; for Y bytes, from D on
                bcs .close
                pshs d,x                ; 0,s the room, 2,s the text behind the name
                tfr d,x
                lbsr read_all           ; Y bytes
                bcs .undo
                tfr u,d                 ; D path
                ldu ,s                  ; U module
                cmpy m_size,u
                bne .bad_module
                pshs d
                lbsr check
                puls d
                bcs .bad_module
                bsr add_module_d
                bcs .bad_module
                pshs u
                tfr d,u
                lbsr release
                puls u
                leas 2,s
                puls x
                andcc #$FE
.end            rts

.bad_module     tfr d,u
                ldb #e_module
.undo           pshs b                  ; the room is given back, unless another load took the room behind it
                ldd 1,s
                addd o_size+2,u
                cmpd v_room
                bne .lost
                ldd 1,s
                std v_room
.lost           puls b
                lbsr release
                leas 2,s
                puls x
                orcc #$01
                rts
.bad            ldb #e_module
.close          lbsr release
                orcc #$01
                rts

; add_module, but D is kept.
add_module_d    pshs d
                lbsr add_module
                puls d,pc

; Takes room for Y bytes in the module area: D. Where there is too little, the modules at its end go, as long as
; nobody holds them.
make_room       pshs x,y,u
.try            ldd v_room
                addd 2,s
                bcs .purge
                cmpd #private
                bls .fits
.purge          ldx #t_modules          ; which module ends where the free room starts?
.entry          ldu ,x
                cmpu #module_area
                blo .next
                ldd m_size,u
                leay d,u
                cmpy v_room
                beq .last
.next           leax 4,x
                cmpx #t_modules_end
                blo .entry
.none           ldb #e_full
                orcc #$01
                puls x,y,u,pc
.last           tst 2,x
                bne .none
                stu v_room
                clr ,x
                clr 1,x
                bra .try
.fits           ldx v_room
                std v_room
                tfr x,d
                andcc #$FE
                puls x,y,u,pc
