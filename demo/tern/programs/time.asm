; time              hours, minutes and seconds since the system started

                cpu 6809
                include "defs.asm"

                module "time", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=64

entry           leax title,pcr
                jsr g_print
                lda v_hours
                lbsr two_digits
                lda #':
                jsr g_put
                lda v_minutes
                lbsr two_digits
                lda #':
                jsr g_put
                lda v_seconds
                lbsr two_digits
                lbsr new_line
                clrb
                jmp g_end

title           fcb "running for ",0

                include "programs/lib.asm"
                endmodule
