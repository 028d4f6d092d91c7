; text FILE         shows a text, a page at a time; q ends it

                cpu 6809
                include "defs.asm"

line_room       equ 200
rows            equ 22

                layout 0
file            rmb 1
row             rmb 1
key             rmb 1
line            rmb line_room
size            equ *
                endlayout

                module "text", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=size

entry           clr row,u
                jsr g_open
                bcs quit
                sta file,u
next            lda file,u
                leax line,u
                ldy #line_room
                jsr g_line
                bcs last
                lda #1
                jsr g_write
                inc row,u
                lda row,u
                cmpa #rows
                blo next
                clr row,u
                leax more,pcr
                jsr g_print
                leax key,u
                ldy #1
                clra
                jsr g_read
                bcs last
                leax over,pcr
                jsr g_print
                lda key,u
                ora #$20
                cmpa #'q
                bne next
                ldb #e_end
last            pshs b
                lda file,u
                jsr g_close
                puls b
                cmpb #e_end
                bne quit
                clrb
quit            jmp g_end

more            fcb "more, or q? ",0
over            fcb cr,0

                endmodule
