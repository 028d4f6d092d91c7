; The manager of segment-list volumes: finds a file by its path, and reads it. It never writes: the disk is a preserved
; one, and so nothing that happens here can harm it.
;
; A file's descriptor is a sector that lists the runs of sectors, the segments, which hold it. A path keeps the segment
; that it reads in; where it leaves it, the descriptor is read again. docs/volumes/segment-list.md draws the layout.

                cpu 6809
                include "defs.asm"

                module "segments", type=13, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=0

entry           lbra open
                lbra close
                lbra read
                lbra line
                ldb #e_not              ; write
                orcc #$01
                rts

; Opens the file that the rest of the name at X says: X behind it.
open            pshs y
                bsr take_buffer
                bcs .end
                ldd v_base
                bne .folder
                std o_held,u            ; sector 0 says where the root's descriptor is
                lbsr fetch
                bcs .end
                ldy o_buffer,u
                ldd 9,y
.folder         bsr open_file
                bcs .end
.part           lda ,x                  ; the next name of the path
                cmpa #'/
                bne .name
                leax 1,x
                bra .part
.name           cmpa #$21
                blo .found
                cmpa #'&
                beq .found
                cmpa #';
                beq .found
                ldb #e_kind             ; what has a name behind it must be a folder
                tst o_kind,u
                bpl .failed
                bsr search
                bcs .end
                bra .folder
.found          andcc #$FE
.end            puls y,pc
.failed         orcc #$01
                puls y,pc

; Takes a sector buffer for path U. Carry set: all are taken.
take_buffer     pshs x
                ldx #v_buffers
                ldd #t_buffers
.look           tst ,x+
                beq .free
                inca                    ; the next one is 256 bytes on
                cmpx #v_buffers+5
                blo .look
                ldb #e_full
                orcc #$01
                puls x,pc
.free           inc -1,x
                std o_buffer,u
                andcc #$FE
                puls x,pc

; Gives the buffer back.
close           lda o_buffer,u
                beq .end
                suba #t_buffers>>8
                ldx #v_buffers
                clr a,x
                clr o_buffer,u
.end            rts

; Takes descriptor D for path U: the file's size and kind, its position at the start.
open_file       std o_lsn,u
                std o_held,u
                lbsr fetch
                bcs .end
                pshs x
                ldx o_buffer,u
                lda ,x
                sta o_kind,u
                ldd 9,x
                std o_size,u
                ldd 11,x
                std o_size+2,u
                ldd #0
                std o_position,u
                std o_position+2,u
                std o_count,u           ; no segment in hand
                andcc #$FE
                puls x
.end            rts

; Looks for the name at X in the folder that path U has open. D: sector of its descriptor; X behind the name.
search          pshs y
.sector         ldd o_position+1,u      ; sector of the folder, and its end
                cmpd o_size+1,u
                bhi .none
                blo .inside
                lda o_size+3,u
                beq .none
.inside         ldd o_position+1,u
                lbsr sector
                bcs .end
                ldy o_buffer,u
.entry          tst ,y                  ; an entry whose first byte is zero is not used
                beq .next
                bsr same
                bcc .found
.next           leay 32,y
                tfr y,d
                tstb                    ; buffers begin where the low byte is zero
                bne .entry
                ldd o_position+1,u
                addd #1
                std o_position+1,u
                bra .sector
.none           ldb #e_name
                orcc #$01
.end            puls y,pc
.found          ldd 30,y
                andcc #$FE
                puls y,pc

; Compares the name at X with the entry at Y, as the kernel does with names of modules. Carry clear: X behind it.
same            pshs d,x,y
.next           lda ,y
                anda #$7F
                bsr small
                tfr a,b
                lda ,x+
                bsr small
                pshs b
                cmpa ,s+
                bne .other
                tst ,y+
                bpl .next
                lda ,x
                cmpa #$21
                blo .same
                cmpa #'/
                beq .same
                cmpa #'&
                beq .same
                cmpa #';
                bne .other
.same           stx 2,s
                andcc #$FE
                puls d,x,y,pc
.other          orcc #$01
                puls d,x,y,pc

small           cmpa #'A
                blo .end
                cmpa #'Z
                bhi .end
                ora #$20
.end            rts

; Brings sector D of the file, counted from its start, into the buffer. Carry set: B says why it cannot.
sector          pshs d,x,y
                subd o_first,u
                blo .seek
                cmpd o_count,u
                blo .inside
.seek           ldd o_lsn,u             ; the descriptor again: look for the segment
                cmpd o_held,u
                beq .list
                std o_held,u
                bsr fetch
                bcs .failed
.list           ldx o_buffer,u
                leay 16,x
                ldx #0
.segment        ldd 3,y                 ; how many sectors; a segment of none is behind the last
                beq .no_more
                std o_count,u
                ldd 1,y
                std o_start,u
                stx o_first,u
                ldd ,s
                subd o_first,u
                cmpd o_count,u
                blo .inside
                ldd o_count,u
                leax d,x
                leay 5,y
                tfr y,d
                tstb                    ; 48 segments fill the sector to its end
                bne .segment
.no_more        ldb #e_end
                bra .failed
.inside         addd o_start,u
                cmpd o_held,u
                beq .there
                std o_held,u
                bsr fetch
                bcs .failed
.there          andcc #$FE
                puls d,x,y,pc
.failed         stb 1,s
                ldd #0
                std o_count,u
                orcc #$01
                puls d,x,y,pc

; Reads the sector o_held into the buffer of path U. Keeps D, X, Y. Other processes run until it is there.
fetch           pshs d,x,y,u
                ldd o_held,u
                ldx o_buffer,u
                ldu o_device,u
                ldy d_driver,u
                jsr 3,y
                bcs .failed
                puls d,x,y,u,pc
.failed         ldu 6,s
                ldd #$FFFF
                std o_held,u
                ldb #e_disk
                stb 1,s
                orcc #$01
                puls d,x,y,u,pc

; Reads Y bytes of path U to D. Y: how many it were. Carry set: none, as the file is at its end, or the disk failed.
read            tfr d,x
                pshs x,y                ; 0,s where to, 2,s how many are still wanted
                ldd #0
                pshs d                  ; 0,s how many there are, 2,s where to, 4,s wanted
.more           ldd 4,s
                beq .done
                ldd o_position,u
                cmpd o_size,u
                blo .some
                bhi .at_end
                ldd o_position+2,u
                cmpd o_size+2,u
                bhs .at_end
.some           ldd o_position+1,u      ; position / 256: which sector
                lbsr sector
                bcs .failed
                clra                    ; from here on nothing waits: v_a and v_b are ours
                ldb o_position+3,u
                std v_a
                ldd #256
                subd v_a                ; bytes up to the end of the sector
                cmpd 4,s
                bls .wanted
                ldd 4,s
.wanted         std v_a
                ldd o_size+2,u          ; up to the end of the file
                subd o_position+2,u
                std v_b
                ldd o_size,u
                sbcb o_position+1,u
                sbca o_position,u
                bne .enough
                tstb
                bne .enough
                ldd v_b
                cmpd v_a
                bhs .enough
                std v_a
.enough         ldx o_buffer,u
                ldb o_position+3,u
                abx
                ldy 2,s
                ldb v_a+1               ; 1 to 256, which is 0
.byte           lda ,x+
                sta ,y+
                decb
                bne .byte
                sty 2,s
                ldd ,s
                addd v_a
                std ,s
                ldd 4,s
                subd v_a
                std 4,s
                ldd o_position+2,u
                addd v_a
                std o_position+2,u
                bcc .more
                inc o_position+1,u
                bne .more
                inc o_position,u
                bra .more
.at_end         ldd ,s
                bne .done
                ldb #e_end
                bra .failed
.done           puls y
                leas 4,s
                andcc #$FE
                rts
.failed         puls y
                leas 4,s
                orcc #$01
                rts

; Reads up to a return, which is the last byte, or Y bytes.
line            pshs d,y                ; 0,s where to, 2,s room
                ldd #0
                pshs d                  ; 0,s how many
.byte           ldd ,s
                cmpd 4,s
                bhs .done
                addd 2,s
                ldy #1
                lbsr read
                bcs .failed
                ldd ,s
                addd #1
                std ,s
                addd 2,s
                tfr d,x
                lda -1,x
                cmpa #cr
                bne .byte
.done           puls y
                leas 4,s
                andcc #$FE
                rts
.failed         puls y
                leas 4,s
                cmpy #0                 ; a last line without a return is a line
                bne .last
                orcc #$01
                rts
.last           andcc #$FE
                rts

                endmodule
