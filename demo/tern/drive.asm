; The driver of the block controller: reads one block at a time. The drive is slow, so other processes run meanwhile.

                cpu 6809
                include "defs.asm"

                module "drive", type=14, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=0

entry           lbra prepare
                lbra get
                lbra give
                rts                     ; interrupt: the controller has none

prepare         clr v_lock
                rts

; Reads block D to the 256 bytes at X. Carry set: it failed.
get             pshs x,y
                ldy d_port,u
.wait           tst v_lock              ; one at a time
                beq .free
                lbsr turn
                bra .wait
.free           inc v_lock
                std 2,y                 ; number of the block
                ldx d_descriptor,u
                lda $13,x               ; address of the drive on the bus
                sta 1,y
                lda #disk_read
                sta ,y
.busy           lda ,y
                bpl .there
                bsr turn
                bra .busy
.there          bita #disk_error
                bne .failed
                ldx ,s
                clrb
.byte           lda 4,y
                sta ,x+
                decb
                bne .byte
                clr v_lock
                andcc #$FE
                puls x,y,pc
.failed         clr v_lock
                orcc #$01
                puls x,y,pc

; The turn goes to others, but the processor does not rest: no interrupt says that the block is there.
turn            clr v_calm
                jmp g_yield

; Tern writes no disk.
give            orcc #$01
                rts

                endmodule
