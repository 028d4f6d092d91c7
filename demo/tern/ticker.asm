; The clock: counts ticks, and the time since the start. The register at $FF08 asks for an interrupt every 32,768
; cycles; at 1.5 MHz that is every 21.85 ms, 45.8 times a second.

                cpu 6809
                include "defs.asm"

cycles          equ 1500000     ; in a second

                module "ticker", type=12, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=0

entry           lbra prepare
                lbra poll

prepare         sta tick                ; a tick from before is none of ours
                rts

; Called at every interrupt.
poll            lda tick
                bpl .end
                sta tick
                inc v_due               ; whoever runs has had a turn
                tst v_resting           ; a tick counts for whoever ran, unless nobody did
                bne .count
                ldx v_current
                inc p_ticks+1,x
                bne .count
                inc p_ticks,x
.count          ldd v_ticks+2
                addd #1
                std v_ticks+2
                bne .fraction
                ldd v_ticks
                addd #1
                std v_ticks
.fraction       ldd v_fraction+1        ; three bytes: cycles of this second
                addd #32768
                std v_fraction+1
                bcc .second
                inc v_fraction
.second         lda v_fraction
                cmpa #cycles>>16
                blo .end
                bhi .whole
                ldd v_fraction+1
                cmpd #cycles&$FFFF
                blo .end
.whole          ldd v_fraction+1
                subd #cycles&$FFFF
                std v_fraction+1
                lda v_fraction
                sbca #cycles>>16
                sta v_fraction
                ldx #v_seconds
                bsr sixty
                bcs .end
                ldx #v_minutes
                bsr sixty
                bcs .end
                inc v_hours
.end            rts

; One more at X; carry clear where that makes sixty, which is none.
sixty           inc ,x
                lda ,x
                cmpa #60
                blo .end
                clr ,x                  ; clears the carry too
.end            rts

                endmodule
