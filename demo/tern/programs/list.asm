; list FOLDER       the names in a folder, two a row; without a name, those in your own folder

                cpu 6809
                include "defs.asm"

                layout 0
file            rmb 1
column          rmb 1
entry_room      rmb 32
size            equ *
                endlayout

                module "list", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=size

entry           clr column,u
                jsr g_open
                bcs quit
                sta file,u
                leax entry_room,u       ; the folder above, and the folder itself
                ldy #32
                jsr g_read
                bcs last
                jsr g_read
                bcs last
next            lda file,u
                leax entry_room,u
                ldy #32
                jsr g_read
                bcs last
                tst ,x                  ; a name that is not used any more
                beq next
                lbsr send_name
                tst column,u
                bne .second
                inc column,u
                pshs b                  ; the second name starts in column 20
                ldb #20
                subb ,s+
                bhi .pad
                ldb #1
.pad            lbsr blanks
                bra next
.second         clr column,u
                lbsr new_line
                bra next
last            pshs b
                tst column,u
                beq .closed
                lbsr new_line
.closed         lda file,u
                jsr g_close
                puls b
                cmpb #e_end             ; the end is what it should come to
                bne quit
                clrb
quit            jmp g_end

                include "programs/lib.asm"
                endmodule
