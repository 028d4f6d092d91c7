; Track 0, sector 1: reads the 32 sectors behind it, which are the system, and starts it.

                cpu Z80
                include "defs.asm"

                org $0080
                ld sp,$0080+128+64
                ld hl,system
                ld de,$0002             ; D track, E sector
                ld b,32
sector          push bc
                ld a,d
                out (disk_track),a
                ld a,e
                out (disk_sector),a
                ld a,disk_read
                out (disk_command),a
wait            in a,(disk_command)
                bit 7,a
                jr nz,wait
                bit 0,a
                jp nz,rom               ; from the beginning
                ld bc,128*256+disk_data
                inir
                inc e
                ld a,e
                cp 27
                jr c,same_track
                ld e,1
                inc d
same_track      pop bc
                djnz sector
                jp system
                assert $ <= $0080+128, "the loader is longer than its sector"
