; primes LIMIT      the prime numbers up to a limit, 1000 where none is given. It computes all the time, so that one
;                   sees at another terminal that the turn goes round.

                cpu 6809
                include "defs.asm"

                layout 0
limit           rmb 2
number          rmb 2
divisor         rmb 2
rest            rmb 2
found           rmb 2
size            equ *
                endlayout

                module "primes", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=size

entry           lbsr skip_blanks
                lbsr read_number
                cmpd #2
                bhs .given
                ldd #1000
.given          std limit,u
                ldd #0
                std found,u
                ldd #2
                std number,u
.number         ldd #2
.divisor        std divisor,u
                bsr square              ; D divisor times divisor; carry set where that is beyond 16 bits
                bcs .prime
                cmpd number,u
                bhi .prime
                ldd number,u
                bsr remainder
                cmpd #0
                beq .next
                ldd divisor,u
                addd #1
                bra .divisor
.prime          ldd number,u
                lbsr decimal
                lda #$20
                jsr g_put
                ldd found,u
                addd #1
                std found,u
                andb #7                 ; eight a row
                bne .next
                lbsr new_line
.next           ldd number,u
                cmpd limit,u
                bhs .end
                addd #1
                std number,u
                bra .number
.end            lbsr new_line
                ldd found,u
                lbsr decimal
                leax primes,pcr
                jsr g_print
                clrb
                jmp g_end

square          ldd divisor,u
                tsta
                bne .beyond
                tfr b,a
                mul
                andcc #$FE
                rts
.beyond         orcc #$01
                rts

; D modulo the divisor: long division, a bit at a time.
remainder       std rest,u
                ldx #16
                ldd #0
.bit            lsl rest+1,u
                rol rest,u
                rolb
                rola
                bcs .subtract
                cmpd divisor,u
                blo .smaller
.subtract       subd divisor,u
.smaller        leax -1,x
                bne .bit
                rts

primes          fcb " primes",cr,0

                include "programs/lib.asm"
                endmodule
