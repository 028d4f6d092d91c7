; The system of the Larkfield Z: a console, files that can be read, and a loop that loads the program whose name was
; typed, and calls it. It lies on the system tracks, from track 0, sector 2 on.
;
; The volume is the common one of 8-inch single-density disks: two system tracks, then blocks of 1 KiB, whose sectors
; follow one another six apart; the first two blocks are the directory. docs/volumes/extent-entry.md draws it.

                cpu Z80
                include "defs.asm"

                org system
                jp start
                jp put
                jp get
                jp print
                jp line
                jp open
                jp record
                jp entry
                jp leave

start           ld sp,system
                ld hl,hello
                call print
                ld hl,script_name       ; what is to be done first
                call open
                jr c,loop
                ld hl,script
                call record
                jr c,loop
                call record             ; a second record, if there is one
                ld (hl),$1A
                ld hl,script
                ld (script_at),hl

; The loop. A line comes from the script as long as there is one, then from the console.
loop            ld sp,system
                ld hl,(script_at)
                ld a,h
                or l
                jr z,typed
                ld de,line_room
                ld b,63
.byte           ld a,(hl)
                cp $1A                  ; the end of a text
                jr z,.script_ends
                inc hl
                cp lf
                jr z,.byte
                cp cr
                jr z,.line_ends
                ld (de),a
                inc de
                djnz .byte
.line_ends      ld (script_at),hl
                xor a
                ld (de),a
                ld hl,prompt
                call print
                ld hl,line_room
                call print
                call new_line
                jr run
.script_ends    ld hl,0
                ld (script_at),hl
typed           ld hl,prompt
                call print
                ld hl,line_room
                ld b,63
                call line
run             ld hl,line_room
                call blanks
                or a
                jr z,loop
                cp ';'                  ; a remark
                jr z,loop
                call name               ; the program's name
                ld de,wanted+8
                ld a,'C'
                ld (de),a
                inc de
                ld a,'O'
                ld (de),a
                inc de
                ld a,'M'
                ld (de),a
                call blanks             ; the text behind it
                ld de,text
                ld b,63
.text           ld a,(hl)
                ld (de),a
                or a
                jr z,.find
                inc hl
                inc de
                djnz .text
                xor a
                ld (de),a
.find           call find
                jr c,no_such
                ld hl,program
.load           ld a,h
                cp program_end >> 8
                jr nc,large
                call record
                jr nc,.load
                call program
leave           jp loop
large           ld hl,too_large
                call print
                jp loop
no_such         ld hl,no_program
                call print
                jp loop

; --- Console ---

; Sends A. Keeps all registers but A.
put             push bc
                ld c,a
.wait           in a,(console_control)
                bit 0,a                 ; may the next character go?
                jr z,.wait
                ld a,c
                out (console_data),a
                pop bc
                ret

get             in a,(console_control)
                bit 1,a                 ; has one come?
                jr z,get
                in a,(console_data)
                and $7F
                ret

; Sends the text at HL; HL behind its zero byte.
print           ld a,(hl)
                inc hl
                or a
                ret z
                call put
                jr print

new_line        ld a,cr
                call put
                ld a,lf
                jr put

; Lets a line of up to B characters be typed at HL. Backspace takes one back.
line            push hl
                push bc
                ld c,0                  ; how many there are
.key            call get
                cp cr
                jr z,.end
                cp 8
                jr z,.back
                cp $7F
                jr z,.back
                cp ' '
                jr c,.key
                ld d,a
                ld a,c
                cp b
                jr nc,.key
                inc c
                ld a,d
                ld (hl),a
                inc hl
                call put
                jr .key
.back           ld a,c
                or a
                jr z,.key
                dec c
                dec hl
                ld a,8
                call put
                ld a,' '
                call put
                ld a,8
                call put
                jr .key
.end            ld (hl),0
                call new_line
                pop bc
                pop hl
                ret

; Passes over blanks at HL: A the first character that is none.
blanks          ld a,(hl)
                cp ' '
                ret nz
                inc hl
                jr blanks

; --- Files ---

; Turns the name at HL, NAME or NAME.TYP, into the eleven characters of a directory entry in `wanted`; HL behind it.
name            ld de,wanted
                ld b,11
                ld a,' '
.clear          ld (de),a
                inc de
                djnz .clear
                ld de,wanted
                ld b,8
                call .part
                ld a,(hl)
                cp '.'
                ret nz
                inc hl
                ld de,wanted+8
                ld b,3
.part           ld a,(hl)
                cp '!'
                ret c                   ; a blank or the end
                cp '.'
                ret z
                cp 'a'
                jr c,.capital
                cp 'z'+1
                jr nc,.capital
                sub 32
.capital        inc b                   ; more characters than there is room for are passed over
                dec b
                jr z,.passed
                ld (de),a
                inc de
                dec b
.passed         inc hl
                jr .part

; sys_open.
open            call blanks
                call name
                push hl
                call find
                pop hl
                ret

; Gets the file in `wanted` ready for reading from its start. Carry set: there is none.
find            xor a
                ld (extent),a

; Looks for the entry of the file's extent.
find_extent     xor a
                ld (next_record),a
                ld c,a
.entry          ld a,c
                push bc
                call entry              ; HL its bytes
                pop bc
                ret c
                ld a,(hl)
                or a                    ; user 0; E5 would be a deleted one
                jr nz,.next
                push hl
                inc hl
                ld de,wanted
                ld b,11
.compare        ld a,(hl)
                and $7F                 ; bit 7 is an attribute
                ex de,hl
                cp (hl)
                ex de,hl
                jr nz,.other
                inc hl
                inc de
                djnz .compare
                ld a,(extent)
                cp (hl)
                jr nz,.other
                pop hl
                ld de,file              ; keep the entry
                ld bc,32
                ldir
                or a
                ret
.other          pop hl
.next           inc c
                ld a,c
                cp 64
                jr c,.entry
                scf
                ret

; sys_record. The file's next 128 bytes to HL, HL behind them. Carry set: there are no more, or the disk failed.
record          push hl
                ld a,(file+15)          ; records of this extent
                ld b,a
                ld a,(next_record)
                cp b
                jr c,.here
                ld a,b
                cp 128                  ; only a full extent has another behind it
                jr c,.end
                ld hl,extent
                inc (hl)
                call find_extent
                jr c,.end
                jr .again
.here           ld c,a
                inc a
                ld (next_record),a
                ld a,c                  ; eight records a block: which block?
                rrca
                rrca
                rrca
                and $0F
                ld e,a
                ld d,0
                ld hl,file+16
                add hl,de
                ld a,(hl)
                or a
                jr z,.end
                ld l,a                  ; block times eight, and the record in it
                ld h,0
                add hl,hl
                add hl,hl
                add hl,hl
                ld a,c
                and 7
                ld e,a
                add hl,de
                ex de,hl                ; DE which record of the volume
                pop hl
                jr read
.again          pop hl
                jr record
.end            pop hl
                scf
                ret

; sys_entry. The directory entry with the number in A: HL its 32 bytes. Carry set: the disk failed.
entry           push bc
                push de
                push af
                rrca                    ; four entries a record
                rrca
                and $0F
                ld e,a
                ld d,0
                ld hl,sector_held       ; the record may be here already
                cp (hl)
                jr z,.there
                ld (hl),a
                ld hl,sector_room
                call read
                jr nc,.there
                ld a,$FF
                ld (sector_held),a
                pop af
                scf
                jr .end
.there          pop af
                and 3
                rrca
                rrca
                rrca                    ; times 32
                ld e,a
                ld d,0
                ld hl,sector_room
                add hl,de
                or a
.end            pop de
                pop bc
                ret

; Reads record DE of the volume to HL, HL behind it. Carry set: the disk failed.
read            push bc
                push de
                ld b,2                  ; behind the two system tracks
.track          ld a,e                  ; DE modulo 26 is the place on the track
                sub 26
                ld c,a
                ld a,d
                sbc a,0
                jr c,.on_track
                ld d,a
                ld e,c
                inc b
                jr .track
.on_track       ld a,b
                out (disk_track),a
                push hl
                ld hl,skew
                add hl,de
                ld a,(hl)
                pop hl
                out (disk_sector),a
                ld a,disk_read
                out (disk_command),a
.wait           in a,(disk_command)
                bit 7,a
                jr nz,.wait
                rrca                    ; the error bit to the carry
                jr c,.end
                ld bc,128*256+disk_data
                inir
                or a
.end            pop de
                pop bc
                ret

; Where the sectors of a track stand in the order in which they are counted: six apart.
skew            db 1,7,13,19,25,5,11,17,23,3,9,15,21,2,8,14,20,26,6,12,18,24,4,10,16,22

hello           db "Larkfield Z, system 1",cr,lf,0
prompt          db "next: ",0
no_program      db "There is no such program; FILES shows all.",cr,lf,0
too_large       db "The program does not fit.",cr,lf,0
script_name     db "START.SUB",0

script_at       dw 0            ; next byte of the start-up script, 0 when it is over
next_record     db 0            ; of the file that is open
extent          db 0
sector_held     db $FF          ; record of the directory in sector_room, FF none

                assert $ <= system+32*128, "the system is longer than its 32 sectors"

; Behind the code, up to the ROM.
wanted          equ system+$0E00 ; the name that is looked for
file            equ system+$0E10 ; the directory entry of the open file
line_room       equ system+$0E40
sector_room     equ system+$0E80
script          equ system+$0F00 ; up to two records, and one byte more
                assert $ <= wanted, "the system reaches into its own tables"
