; The manager of terminals: lets a person type a line and correct it, and turns the end of a line into return and line
; feed. The characters themselves are the driver's matter.

                cpu 6809
                include "defs.asm"

bell            equ 7
backspace       equ 8
cancel          equ $18
rub_out         equ $7F

                module "lines", type=13, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=0

entry           lbra open
                lbra close
                lbra read
                lbra line
                lbra write

open            andcc #$FE
close           rts

; Reads Y characters to D, as they are typed, and shows none of them.
read            pshs y
                tfr d,x
.next           cmpy #0
                beq .done
                lbsr get
                sta ,x+
                leay -1,y
                bra .next
.done           puls y
                andcc #$FE
                rts

; Lets a line be typed, to D, of Y characters at most, the return among them. Y: how many it were.
line            tfr d,x
                pshs x                  ; 0,s where the line starts
                leay d,y
                leay -1,y               ; Y where the return must stand at the latest
.key            lbsr get
                cmpa #cr
                beq .end
                cmpa #backspace
                beq .back
                cmpa #rub_out
                beq .back
                cmpa #cancel
                beq .cancel
                cmpa #$20
                blo .key
                pshs y
                cmpx ,s++
                bhs .full
                sta ,x+
                bsr show
                bra .key
.full           lda #bell
                bsr show
                bra .key
.back           bsr take_back
                bra .key
.cancel         cmpx ,s
                beq .key
                bsr take_back
                bra .cancel
.end            sta ,x+
                lda #cr                 ; the new line shows even where nothing else does
                bsr put
                lda #lf
                bsr put
                tfr x,d
                subd ,s++
                tfr d,y
                andcc #$FE
                rts

; Takes the character before X back, if the line that starts at 2,s has one.
take_back       cmpx 2,s
                bls .end
                leax -1,x
                lda #backspace
                bsr show
                lda #$20
                bsr show
                lda #backspace
                bsr show
.end            rts

; Shows what is typed, unless echo is off.
show            tst o_echo,u
                bne put
                rts

; Writes Y characters from D.
write           tfr d,x
                pshs y
.next           cmpy #0
                beq .done
                lda ,x+
                bsr put
                leay -1,y
                cmpa #cr
                bne .next
                lda #lf
                bsr put
                bra .next
.done           puls y
                andcc #$FE
                rts

; Sends the character in A; waits while there is no room for it. Keeps all registers.
put             pshs d,x,y,u
                ldu o_device,u
                ldy d_driver,u
.again          lda ,s
                jsr 6,y
                bcc .sent
                jsr g_rest
                bra .again
.sent           puls d,x,y,u,pc

; Waits for a character: A. Keeps the other registers.
get             pshs b,x,y,u
                ldu o_device,u
                ldy d_driver,u
.again          jsr 3,y
                bcc .come
                jsr g_rest
                bra .again
.come           puls b,x,y,u,pc

                endmodule
