; WIPE              clears the screen: cursor to the first place, then everything behind it away (ECMA-48)

                cpu Z80
                include "defs.asm"

                org program
                ld hl,sequence
                ld b,7
next            ld a,(hl)
                call sys_put
                inc hl
                djnz next
                ret
sequence        db 27,"[H",27,"[2J"
