; Asks who sits at the terminal, and starts the program that the account file names for them.
;
;   login           at the terminal that it is started from
;   login /t1 &     at another one
;
; A line of the account file: name,mark,user,priority,commands,folder,program. The mark of a password is four hex
; digits: each character is put, by exclusive or, into 16 bits that turned left by one. Who has the disk and some
; patience finds a password for a mark, so it keeps honest people honest, and no more. An empty mark asks for none.

                cpu 6809
                include "defs.asm"

                layout 0
name            rmb 34
password        rmb 34
account         rmb 130
file            rmb 1
size            equ *
                endlayout

                module "login", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=size

entry           lda ,x
                cmpa #'/
                bne ask
                jsr g_open
                lbcs give_up
                jsr g_use
                jsr g_close

ask             leax ask_name,pcr
                jsr g_print
                leax name,u
                ldy #32
                clra
                jsr g_line
                lbcs give_up
                cmpy #1
                beq ask
                tfr y,d                 ; the line ends with a return: make it a zero byte
                leax d,x
                clr -1,x

                leax accounts,pcr
                jsr g_open
                lbcs trouble
                sta file,u
next_account    lda file,u
                leax account,u
                ldy #128
                jsr g_line
                bcs unknown
                tfr y,d
                leay d,x
                clr ,y
                lda ,x                  ; a remark
                cmpa #'*
                beq next_account
                tfr x,y                 ; every comma, and the return, ends a text
.comma          lda ,y+
                beq .parted
                cmpa #cr
                beq .ends
                cmpa #',
                bne .comma
.ends           clr -1,y
                bra .comma
.parted         leay name,u
.same           lda ,x+
                cmpa ,y+
                bne next_account
                tsta
                bne .same
                lda file,u
                jsr g_close

; X is at the mark now.
                lda ,x
                beq allowed
                pshs x
                leax ask_password,pcr
                jsr g_print
                clra
                clrb
                jsr g_echo
                leax password,u
                ldy #32
                clra
                jsr g_line
                pshs cc
                ldd #1
                jsr g_echo
                puls cc
                puls y                  ; Y at the mark
                lbcs give_up
                clra
                clrb
.character      pshs d
                lda ,x
                cmpa #cr
                puls d
                beq .marked
                lslb                    ; turn left by one
                rola
                adcb #0
                eorb ,x+
                bra .character
.marked         pshs d
                tfr y,x
                lbsr read_hex
                cmpd ,s++
                beq allowed
                bra no

unknown         lda file,u
                jsr g_close
no              leax wrong,pcr
                jsr g_print
                lbra ask

; Carries on with the rest of the account: X at the mark or behind it.
allowed         bsr next_field
                lbsr read_number
                jsr g_user
                bsr next_field          ; the priority; Tern treats all alike
                bsr next_field
                lda #1
                jsr g_folder
                bcs trouble
                bsr next_field
                clra
                jsr g_folder
                bcs trouble
                bsr next_field
                leay nothing,pcr
                lda #$FF
                jsr g_start
                bcs trouble
                jsr g_wait
                lbra ask

trouble         lbsr complain
                lbra ask
give_up         jmp g_end

; X behind the next zero byte.
next_field      tst ,x+
                bne next_field
                rts

; Reads up to four hex digits at X: D.
read_hex        ldd #0
                pshs d
.digit          ldb ,x
                subb #'0
                bcs .end
                cmpb #9
                bls .take
                subb #'A-'0-10
                cmpb #10
                blo .end
                cmpb #15
                bhi .end
.take           leax 1,x
                clra
                pshs d
                ldd 2,s
                lslb
                rola
                lslb
                rola
                lslb
                rola
                lslb
                rola
                addd ,s++
                std ,s
                bra .digit
.end            puls d,pc

ask_name        fcb cr,"login: ",0
ask_password    fcb "password: ",0
wrong           fcb "no such name and password",cr,0
accounts        fcb "/d0/sys/accounts",0
nothing         equ *-1

                include "programs/lib.asm"
                endmodule
