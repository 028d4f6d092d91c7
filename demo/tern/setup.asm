; The configuration module: what the kernel is to start with. It has no code; everything that names something is an
; offset from the start of the module.

                cpu 6809
                include "defs.asm"

                module type=12, language=0, attributes=8, revision=1
here            equ *-9
                fcb (block_count*4096-1)>>16    ; highest address of memory: 28 blocks of 4 KiB, beyond what 16 bits reach
                fdb (block_count*4096-1)&$FFFF
                fcb 3                   ; interrupts that are asked for
                fcb 6                   ; devices that find room in the table
                fdb first-here
                fdb disk-here
                fdb terminal-here
                modulename "setup", edition=1
first           lasthi "first"
disk            lasthi "/d0"
terminal        lasthi "/term"
                endmodule
