; stop NUMBER       ends a process of your own

                cpu 6809
                include "defs.asm"

                module "stop", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=64

entry           lbsr skip_blanks
                lbsr read_number
                tfr b,a
                jsr g_stop
                bcs .end
                clrb
.end            jmp g_end

                include "programs/lib.asm"
                endmodule
