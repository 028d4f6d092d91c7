; The ROM of the Larkfield Z: sets the console up, and starts the disk. It reads one sector, the loader, and trusts it
; with the rest.

                cpu Z80
                include "defs.asm"

                org rom
                di
                ld sp,system
; An 8251 can be in the middle of anything at power-on: three zero bytes and a reset bring it back from everywhere.
                xor a
                out (console_control),a
                out (console_control),a
                out (console_control),a
                ld a,$40                ; reset
                out (console_control),a
                ld a,$4E                ; mode: 8 bits, no parity, one stop bit, clock divided by 16
                out (console_control),a
                ld a,$37                ; send, receive, RTS and DTR on, errors cleared
                out (console_control),a
                ld hl,hello
                call print
start           xor a                   ; track 0, sector 1
                out (disk_track),a
                inc a
                out (disk_sector),a
                ld a,disk_read
                out (disk_command),a
wait            in a,(disk_command)
                bit 7,a
                jr nz,wait
                bit 0,a
                jr nz,failed
                ld hl,$0080
                ld bc,128*256+disk_data
                inir
                ld a,($0080)            ; a disk that starts something begins with LD SP,n
                cp $31
                jp z,$0080
                ld hl,nothing
                jr complain
failed          ld hl,bad
complain        call print
again           in a,(console_control)  ; try again at the next key
                bit 1,a
                jr z,again
                in a,(console_data)
                jr start

print           ld a,(hl)
                or a
                ret z
                call put
                inc hl
                jr print

put             ld c,a
.wait           in a,(console_control)
                bit 0,a
                jr z,.wait
                ld a,c
                out (console_data),a
                ret

hello           db cr,lf,"Larkfield Z, monitor 1",cr,lf,0
bad             db "The drive failed. Any key tries again.",cr,lf,0
nothing         db "This disk starts nothing. Any key tries again.",cr,lf,0
