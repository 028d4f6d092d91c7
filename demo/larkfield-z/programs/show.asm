; SHOW NAME.TYP     a text, 23 lines at a time

                cpu Z80
                include "defs.asm"

                org program
                ld hl,text
                call sys_open
                jr c,none
                ld d,23
record          ld hl,room
                push de
                call sys_record
                pop de
                ret c
                ld hl,room
                ld b,128
byte            ld a,(hl)
                cp $1A                  ; the end of the text
                ret z
                call sys_put
                cp lf
                call z,row
                inc hl
                djnz byte
                jr record

row             dec d
                ret nz
                push hl
                ld hl,more
                call sys_print
                call sys_get
                push af
                ld hl,over
                call sys_print
                pop af
                pop hl
                ld d,23
                or $20
                cp 'q'
                ret nz
                pop hl                  ; the way back into the text; go home instead
                ret

none            ld hl,no_file
                jp sys_print

no_file         db "There is no such file.",cr,lf,0
more            db "more, or q? ",0
over            db cr,"            ",cr,0
room            equ *
