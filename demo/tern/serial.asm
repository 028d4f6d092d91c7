; The driver of 6850 ports. Characters wait in two rings of 64 bytes, one each way: the interrupt fills the one and
; empties the other. A ring is empty where both of its counters are equal.

                cpu 6809
                include "defs.asm"

                layout 0        ; a port's storage
in_next         rmb 1           ; next character for the system
in_end          rmb 1           ; where the next one typed goes
out_next        rmb 1           ; next character for the line
out_end         rmb 1           ; where the next one from the system goes
control         rmb 1           ; control register: frame and divider, no interrupts
held            rmb 1           ; not zero: the terminal asked for a pause
ring_in         rmb 64
ring_out        rmb 64
storage_size    equ *
                endlayout
                assert storage_size <= 160, "a port's storage is longer than the kernel gives"

receive_on      equ $80         ; bits of the control register: interrupts when a character came,
send_on         equ $20         ; and when the next can go
x_on            equ $11
x_off           equ $13

                module "serial", type=14, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=0

entry           lbra prepare
                lbra get
                lbra give
                lbra interrupt

; Resets the port, and sets rate divider and frame as the descriptor says.
prepare         ldy d_storage,u
                ldx d_descriptor,u
                lda $26,x
                sta control,y
                ldx d_port,u
                ldb #$03
                stb ,x
                ora #receive_on
                sta ,x
                rts

; A: a character that was typed. Carry set: there is none.
get             pshs b,x
                ldx d_storage,u
                ldb in_next,x
                cmpb in_end,x
                beq .none
                incb
                andb #63
                stb in_next,x
                decb
                andb #63
                leax ring_in,x
                lda b,x
                andcc #$FE
                puls b,x,pc
.none           orcc #$01
                puls b,x,pc

; Sends the character in A. Carry set: there is no room for it yet.
give            pshs d,x,y
                ldx d_storage,u
                ldb out_end,x
                incb
                andb #63
                cmpb out_next,x
                beq .full
                pshs b
                ldb out_end,x
                leay ring_out,x
                sta b,y
                puls b
                stb out_end,x
                lda control,x           ; from now on the port says when it can take one
                ora #receive_on+send_on
                sta [d_port,u]
                andcc #$FE
                puls d,x,y,pc
.full           orcc #$01
                puls d,x,y,pc

; Called at every interrupt, of whomever.
interrupt       ldx d_port,u
                ldb ,x
                bpl .end                ; it was not this one
                ldy d_storage,u
                bitb #1
                beq .send
                lda 1,x                 ; a character came
                anda #$7F
                cmpa #x_off
                beq .hold
                cmpa #x_on
                beq .go_on
                pshs b
                ldb in_end,y
                incb
                andb #63
                cmpb in_next,y
                beq .lost               ; nobody reads: what does not fit is lost
                decb
                andb #63
                leax ring_in,y
                sta b,x
                incb
                andb #63
                stb in_end,y
                ldx d_port,u
.lost           puls b
.send           bitb #2
                beq .end
                tst held,y
                bne .quiet
                lda out_next,y
                cmpa out_end,y
                beq .quiet
                leay ring_out,y
                ldb a,y
                stb 1,x
                inca
                anda #63
                ldy d_storage,u
                sta out_next,y
.end            rts
.quiet          lda control,y           ; nothing to send: no more interrupts for that
                ora #receive_on
                sta ,x
                rts
.hold           sta held,y
                bra .send
.go_on          clr held,y
                lda control,y
                ora #receive_on+send_on
                sta ,x
                bra .send

                endmodule
