; memory            whose each block of the memory is, and how full the module area is

                cpu 6809
                include "defs.asm"

                module "memory", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=64

entry           leax title,pcr
                jsr g_print
                ldx #t_blocks
                ldb #block_count
                clr ,u                  ; free ones
.block          lda ,x+
                cmpa #block_free
                bne .taken
                inc ,u
                lda #'.
                bra .show
.taken          cmpa #block_system
                bne .process
                lda #'s
                bra .show
.process        adda #'0
.show           pshs b
                jsr g_put
                puls b
                decb
                bne .block
                lbsr new_line
                leax legend,pcr
                jsr g_print
                ldb ,u
                lda #4                  ; KiB a block
                mul
                lbsr decimal
                leax free,pcr
                jsr g_print
                ldd v_room
                subd #module_area
                lbsr decimal
                leax used,pcr
                jsr g_print
                clrb
                jmp g_end

title           fcb "memory in blocks of 4 K:",cr,0
legend          fcb "s system, 1 to 8 a process, . free",cr,0
free            fcb " K free; programs take ",0
used            fcb cr,"of 12288 bytes of the module area",cr,0

                include "programs/lib.asm"
                endmodule
