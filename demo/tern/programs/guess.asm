; guess             a game: the number is between 1 and 100

                cpu 6809
                include "defs.asm"

                layout 0
secret          rmb 1
tries           rmb 1
line            rmb 16
size            equ *
                endlayout

                module "guess", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=size

entry           lda v_ticks+3           ; nobody knows what the clock says just now
                eora v_fraction+2
.fold           cmpa #100
                blo .hidden
                suba #100
                bra .fold
.hidden         inca
                sta secret,u
                clr tries,u
                leax hello,pcr
                jsr g_print
.ask            leax ask,pcr
                jsr g_print
                leax line,u
                ldy #14
                clra
                jsr g_line
                bcs .end
                cmpy #1                 ; an empty line gives up
                beq .give_up
                inc tries,u
                lbsr skip_blanks
                lbsr read_number
                leax too_small,pcr
                tsta
                bne .large
                cmpb secret,u
                blo .say
                beq .right
.large          leax too_large,pcr
.say            jsr g_print
                bra .ask
.give_up        leax it_was,pcr
                jsr g_print
                ldb secret,u
                bra .number
.right          leax you_have,pcr
                jsr g_print
                ldb tries,u
.number         clra
                lbsr decimal
                lbsr new_line
.end            clrb
                jmp g_end

hello           fcb "I think of a number from 1 to 100.",cr,0
ask             fcb "your guess: ",0
too_small       fcb "larger",cr,0
too_large       fcb "smaller",cr,0
it_was          fcb "it was ",0
you_have        fcb "that is it. guesses: ",0

                include "programs/lib.asm"
                endmodule
