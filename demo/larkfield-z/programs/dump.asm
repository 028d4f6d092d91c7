; DUMP NAME.TYP     the bytes of a file in hex, sixteen a row, with the characters that they stand for

                cpu Z80
                include "defs.asm"

                org program
                ld hl,text
                call sys_open
                jr c,none
                ld ix,0                 ; offset
record          ld hl,room
                call sys_record
                ret c
                ld hl,room
                ld c,8                  ; rows a record
row             push ix
                pop de
                ld a,d
                call hex
                ld a,e
                call hex
                call blank
                push hl
                ld b,16
byte            call blank
                ld a,(hl)
                call hex
                inc hl
                djnz byte
                call blank
                call blank
                pop hl
                ld b,16
character       ld a,(hl)
                cp ' '
                jr c,dot
                cp $7F
                jr c,printing
dot             ld a,'.'
printing        call sys_put
                inc hl
                djnz character
                ld a,cr
                call sys_put
                ld a,lf
                call sys_put
                ld de,16
                add ix,de
                dec c
                jr nz,row
                jr record

blank           ld a,' '
                jp sys_put

hex             push af
                rrca
                rrca
                rrca
                rrca
                call digit
                pop af
digit           and $0F
                add a,'0'
                cp '9'+1
                jr c,small
                add a,7
small           jp sys_put

none            ld hl,no_file
                jp sys_print

no_file         db "There is no such file.",cr,lf,0
room            equ *
