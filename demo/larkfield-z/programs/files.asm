; FILES             the names on the disk, five a row, and how much room they take

                cpu Z80
                include "defs.asm"

                org program
                ld c,0                  ; number of the entry
                ld b,0                  ; names in this row
next            ld a,c
                call sys_entry
                jr c,failed
                ld a,(hl)
                or a                    ; user 0, and not deleted
                jr nz,skip
                push hl
                pop ix
                ld a,(ix+12)            ; only the first extent of a file
                or a
                call z,show
skip            inc c
                ld a,c
                cp 64
                jr c,next
                ld a,b
                or a
                call nz,new_line
                ret

failed          ld hl,bad
                jp sys_print

; Shows the name in the entry at HL, and a gap behind it.
show            inc hl
                ld e,8
                call part
                ld a,'.'
                call sys_put
                ld e,3
                call part
                ld a,' '
                call sys_put
                call sys_put_blank
                call sys_put_blank
                inc b
                ld a,b
                cp 5
                ret c
new_line        ld b,0
                ld a,cr
                call sys_put
                ld a,lf
                jp sys_put

part            ld a,(hl)
                and $7F
                call sys_put
                inc hl
                dec e
                jr nz,part
                ret

sys_put_blank   ld a,' '
                jp sys_put

bad             db "The directory cannot be read.",cr,lf,0
