; SUMS NAME.TYP     the sum of a file's bytes modulo 65,536, in hex: two copies that differ in it are not the same

                cpu Z80
                include "defs.asm"

                org program
                ld hl,text
                call sys_open
                jr c,none
                ld de,0
record          ld hl,room
                push de
                call sys_record
                pop de
                jr c,done
                ld hl,room
                ld b,128
byte            ld a,(hl)
                add a,e
                ld e,a
                jr nc,no_carry
                inc d
no_carry        inc hl
                djnz byte
                jr record
done            ld a,d
                call hex
                ld a,e
                call hex
                ld a,cr
                call sys_put
                ld a,lf
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
