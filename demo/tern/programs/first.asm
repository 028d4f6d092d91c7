; The start module: the first process. It runs the start-up script, and then looks after the first terminal for ever.

                cpu 6809
                include "defs.asm"

                module "first", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=256

entry           leax hello,pcr
                jsr g_print
                leax commands,pcr
                lda #1
                jsr g_folder
                bcs trouble
                leax shell,pcr
                leay script,pcr
                lda #$FF
                jsr g_start
                bcs trouble
                jsr g_wait
terminal        leax login,pcr
                leay nothing,pcr
                lda #$FF
                jsr g_start
                bcs trouble
                jsr g_wait
                bra terminal

trouble         lbsr complain
rest            jsr g_yield             ; the other processes still run
                bra rest

hello           fcb "Tern, edition 1",cr,0
commands        fcb "/d0/commands",0
shell           fcb "shell",0
script          fcb "/d0/startup",0
login           fcb "login"
nothing         fcb 0

                include "programs/lib.asm"
                endmodule
