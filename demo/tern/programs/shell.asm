; The command shell: reads a line, starts the program that it names, and waits until that ends.
;
;   text notice         runs `text`, with `notice` as its text
;   primes 9000 &       does not wait
;   * anything          a remark
;   end                 ends the shell
;
; Started with the name of a file, it takes the lines from there.

                cpu 6809
                include "defs.asm"

line_room       equ 96

                layout 0
file            rmb 1           ; path that the lines come from; 0 the terminal
alone           rmb 1           ; not zero: do not wait
line            rmb line_room+1
size            equ *
                endlayout

                module "shell", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=size

entry           clr file,u
                lbsr skip_blanks
                tsta
                beq next
                jsr g_open
                lbcs quit
                sta file,u

next            lbsr collect
                lda file,u
                bne .read
                leax prompt,pcr
                jsr g_print
.read           leax line,u
                ldy #line_room
                lda file,u
                jsr g_line
                lbcs last
                tfr y,d
                leay d,x
                clr ,y
                lda -1,y
                cmpa #cr
                bne .whole
                clr -1,y
.whole          lbsr skip_blanks
                tsta
                beq next
                cmpa #'*
                beq next
                clr alone,u
                tfr x,y                 ; an ampersand at the end
.ampersand      lda ,y+
                beq .none
                cmpa #'&
                bne .ampersand
                inc alone,u
                clr -1,y
.none           ldd ,x                  ; the shell's own word
                cmpd #'e*256+'n
                bne .program
                ldd 2,x
                cmpd #'d*256
                beq last
.program        tfr x,y                 ; the text behind the name
.name           lda ,y
                beq .start
                leay 1,y
                cmpa #$20
                bne .name
                exg x,y
                lbsr skip_blanks
                exg x,y
.start          lda #$FF
                jsr g_start
                bcs bad
                tst alone,u
                bne .go_on
                jsr g_wait
                tstb
                beq next
                lbsr complain
                bra next
.go_on          leax started,pcr
                jsr g_print
                tfr a,b
                clra
                lbsr decimal
                lbsr new_line
                lbra next

; Asks for those that the shell did not wait for and that have ended; until then they keep their place in the table.
collect         ldy #t_processes
.process        lda p_state,y
                cmpa #2
                bne .next
                ldx v_current
                lda p_parent,y
                cmpa p_number,x
                bne .next
                leax started,pcr
                jsr g_print
                ldb p_number,y
                clra
                lbsr decimal
                leax over,pcr
                jsr g_print
                lda p_number,y
                jsr g_wait
.next           leay p_size,y
                cmpy #t_processes_end
                blo .process
                rts

bad             lbsr complain
                lbra next

last            lda file,u
                beq .end
                jsr g_close
.end            clrb
quit            jmp g_end

prompt          fcb "tern: ",0
started         fcb "process ",0
over            fcb " has ended",cr,0

                include "programs/lib.asm"
                endmodule
