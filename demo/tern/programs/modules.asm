; modules           what is in memory: name, bytes, and how many hold it

                cpu 6809
                include "defs.asm"

                module "modules", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=64

entry           leax title,pcr
                jsr g_print
                ldy #t_modules
.module         ldx ,y
                beq .next
                ldd m_name,x
                leax d,x
                lbsr send_name
                negb
                addb #16
                lbsr blanks
                ldx ,y
                ldd m_size,x
                lbsr decimal
                ldb #3
                lbsr blanks
                ldb 2,y
                clra
                lbsr decimal
                lbsr new_line
.next           leay 4,y
                cmpy #t_modules_end
                blo .module
                clrb
                jmp g_end

title           fcb "module          bytes, held by",cr,0

                include "programs/lib.asm"
                endmodule
