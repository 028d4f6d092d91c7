; What several programs need. Every program that asks for it has its own copy.

; Sends D as a decimal number, without zeros before it: B how many digits.
decimal         pshs d,x,y
                clr ,-s                 ; 0,s digits sent so far, 1,s what is left of the number
                leay .powers,pcr
.power          ldx #'0
.subtract       ldd 1,s
                subd ,y
                blo .digit
                std 1,s
                leax 1,x
                bra .subtract
.digit          tfr x,d
                cmpb #'0
                bne .send
                tst ,s
                beq .next
.send           inc ,s
                tfr b,a
                jsr g_put
.next           leay 2,y
                ldd ,y
                bne .power
                lda 2,s
                adda #'0
                jsr g_put
                ldb ,s+
                incb
                leas 2,s
                puls x,y,pc
.powers         fdb 10000,1000,100,10,0

; Sends A as two decimal digits.
two_digits      pshs d
                ldb #'0-1
.tens           incb
                suba #10
                bcc .tens
                adda #10+'0
                pshs a
                tfr b,a
                jsr g_put
                puls a
                jsr g_put
                puls d,pc

; Sends B blanks.
blanks          pshs d
                lda #$20
.next           tstb
                beq .end
                pshs b
                jsr g_put
                puls b
                decb
                bra .next
.end            puls d,pc

; Starts a new line.
new_line        pshs a
                lda #cr
                jsr g_put
                puls a,pc

; Passes over the blanks at X: A the first character that is none.
skip_blanks     lda ,x
                cmpa #$20
                bne .end
                leax 1,x
                bra skip_blanks
.end            rts

; Reads a decimal number at X: D, and X behind it. No digits are 0.
read_number     ldd #0
                pshs d
.digit          ldb ,x
                subb #'0
                cmpb #9
                bhi .end
                leax 1,x
                clra
                pshs d
                ldd 2,s                 ; ten times what there was
                lslb
                rola
                std 2,s
                lslb
                rola
                lslb
                rola
                addd 2,s
                addd ,s++
                std ,s
                bra .digit
.end            puls d,pc

; Sends the name at X, whose last character has bit 7 set: B how many characters it has.
send_name       pshs x
                clrb
.next           lda ,x+
                pshs a,b
                anda #$7F
                jsr g_put
                puls a,b
                incb
                tsta
                bpl .next
                puls x,pc

; Says what the code in B means.
complain        pshs d,x
                leax .reasons,pcr
                cmpb #8
                bls .find
                ldb #6
.find           decb
                beq .found
.skip           tst ,x+
                bne .skip
                bra .find
.found          jsr g_print
                bsr new_line
                puls d,x,pc
.reasons        fcb "nothing more to read",0
                fcb "there is none of that name",0
                fcb "there is no room for it",0
                fcb "that is the wrong kind of thing",0
                fcb "the disk does not give it",0
                fcb "that is not allowed",0
                fcb "its sums are wrong",0
                fcb "another process ended it",0
