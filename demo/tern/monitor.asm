; The ROM of the Larkfield 9: what happens between the power switch and the first byte from the disk.
;
;   1. test every byte of memory, the eight banks behind the window too
;   2. ask the drive for block 0, and for the boot file that it names
;   3. check the first module of that file, and start it
;
; Where one of these fails, a small hex monitor waits for the keeper at the console.
; $E000-$FEFF and the vectors at $FF80-$FFFF are one EPROM; the registers between them hide the rest of it.

                cpu 6809
                include "defs.asm"

                org $E000
                lbra start
                lbra put
                lbra print
                lbra monitor

; The monitor's own memory lies behind the system's tables, so that the keeper can look at them after a stop.
line            equ $0380       ; a typed line
line_room       equ 40
at              equ $03A8       ; address that `look` goes on from
stack           equ $0400

start           orcc #$50               ; no interrupts
                clra
                tfr a,dp
                sta map_latch           ; translation off: the memory as it is wired
                sta bank_latch
                lda #$03                ; 6850: reset, then 7 bits, even parity, clock divided by 16
                sta console
                sta second
                lda #$09
                sta console
                sta second

; Memory is tested 1 KiB at a time. The first kilobyte is tested before anything is kept in it: no stack,
; so the way back is in U.
                ldx #$0000
                leau first_good,pcr
                lbra test
first_good      lbcs no_stack
                lds #stack
                leax hello,pcr
                lbsr print
                ldx #$0400
main_memory     lbsr test_here
                bcs bad_memory
                cmpx #$C000
                bne main_memory
                leax main_good,pcr
                lbsr print

; The banks: each in turn, and then whether they are eight, and not one that answers eight times.
                clra
bank            sta bank_latch
                pshs a
                ldx #$C000
bank_memory     lbsr test_here
                bcs bad_bank
                cmpx #$E000
                bne bank_memory
                puls a
                sta $C000               ; mark it with its number
                inca
                cmpa #8
                bne bank
marks           deca
                sta bank_latch
                cmpa $C000
                bne same_bank
                clr $C000
                tsta
                bne marks
                leax banks_good,pcr
                lbsr print
                leay monitor,pcr        ; until a system takes them, interrupts end here
                ldx #vectors
.vector         sty ,x++
                cmpx #vectors+10
                bne .vector
                lbra boot

bad_bank        puls a
bad_memory      pshs x
                leax memory_bad,pcr
                bsr print
                puls d
                subd #2
                lbsr hex4
                bra to_monitor
same_bank       leax banks_bad,pcr
                bsr print
to_monitor      lbra monitor

; Without the first kilobyte there is no stack: one letter goes out again and again, and nothing else is done.
no_stack        lda console
                anda #2
                beq no_stack
                lda #'?
                sta console+1
                bra no_stack

; Tests 512 words from X on. Each word is set to its own address, then to the complement, then to zero, so that
; a bit that sticks and an address line that is dead or shorted are both seen.
; In: X start, U way back. Out: X behind the words and carry clear; or X behind the bad word and carry set.
test            ldy #512
.fill           tfr x,d
                std ,x++
                leay -1,y
                bne .fill
                leax -1024,x
                ldy #512
.turn           tfr x,d
                cmpd ,x++
                bne .bad
                coma
                comb
                std -2,x
                leay -1,y
                bne .turn
                leax -1024,x
                ldy #512
.clear          tfr x,d
                coma
                comb
                cmpd ,x++
                bne .bad
                clra
                clrb
                std -2,x
                leay -1,y
                bne .clear
                andcc #$FE
                jmp ,u
.bad            orcc #$01
                jmp ,u

; The same, called as a subroutine.
test_here       leau .back,pcr
                bra test
.back           rts

; Sends the character in A. Keeps everything.
put             pshs b
.wait           ldb console
                bitb #2                 ; may the next character go?
                beq .wait
                sta console+1
                puls b,pc

; Sends the text at X up to a zero byte; a return takes a line feed with it.
print           pshs a,x
.next           lda ,x+
                beq .done
                bsr put
                cmpa #cr
                bne .next
                lda #lf
                bsr put
                bra .next
.done           puls a,x,pc

; Waits for a character: A.
get             lda console
                lsra                    ; bit 0: one has come
                bcc get
                lda console+1
                anda #$7F
                rts

; Sends D, or A, in hex digits.
hex4            bsr hex2
                tfr b,a
hex2            pshs a
                lsra
                lsra
                lsra
                lsra
                bsr .digit
                lda ,s
                bsr .digit
                puls a,pc
.digit          anda #15
                adda #'0
                cmpa #'9
                bls put
                adda #7
                bra put

; --- Boot ---

; Reads block D into the 256 bytes at X, and moves X behind them. Carry set: the drive failed, and A has its status.
read_block      pshs b
                std disk_block
                lda #8                  ; the drive's address on the bus
                sta disk_unit
                lda #disk_read
                sta disk_command
.wait           lda disk_command
                bmi .wait
                bita #disk_error
                bne .failed
                clrb
.byte           lda disk_data
                sta ,x+
                decb
                bne .byte
                andcc #$FE
                puls b,pc
.failed         orcc #$01
                puls b,pc

; The identification sector says at $15 where the boot file starts (three bytes) and at $18 how long it is.
boot            leax booting,pcr
                lbsr print
                ldx #$0A00
                clra
                clrb
                bsr read_block
                bcs drive_failed
                ldy $0A18               ; bytes
                beq no_boot_file
                ldd $0A16               ; first block; the disk has fewer than 65,536
                beq no_boot_file
                ldx #boot_at
                pshs y
load            pshs d
                bsr read_block
                bcs load_failed
                lda #'.
                lbsr put
                puls d
                addd #1
                cmpx #boot_at+$4000     ; no more than 16 KiB
                bhs loaded
                pshs d
                tfr x,d
                subd #boot_at
                cmpd 2,s                ; as many bytes as it has?
                puls d
                blo load
loaded          puls y
                leax new_line,pcr
                lbsr print
                ldx #boot_at
                ldd ,x
                cmpd #$87CD             ; a module begins so
                bne no_module
                clra                    ; and its first nine bytes come to FF
                ldb #9
parity          eora ,x+
                decb
                bne parity
                inca
                bne no_module
                ldx #boot_at
                ldd m_entry,x
                jmp d,x                 ; X first byte of the boot file, Y its length

load_failed     puls d
                puls y
drive_failed    leax drive_bad,pcr
                lbsr print
                lda disk_command
                lbsr hex2
                bra monitor
no_boot_file    leax boot_none,pcr
                bra complain
no_module       leax boot_bad,pcr
complain        lbsr print

; --- The hex monitor ---

monitor         orcc #$50
                lds #stack
                clra
                tfr a,dp
                sta map_latch
                lda #$09                ; no interrupts from the console either
                sta console
                leax help,pcr
                lbsr print
prompt          leax ask,pcr
                lbsr print
                ldx #line
.key            lbsr get
                cmpa #8
                beq .back
                cmpa #cr
                beq .typed
                cmpa #$20
                blo .key
                cmpx #line+line_room-1
                bhs .key
                sta ,x+
                lbsr put
                bra .key
.back           cmpx #line
                beq .key
                leax -1,x
                leay rub_out,pcr
                exg x,y
                lbsr print
                exg x,y
                bra .key
.typed          clr ,x
                leax new_line,pcr
                lbsr print
                ldx #line
                lda ,x+
                ora #$20
                cmpa #'l
                beq look
                cmpa #'p
                beq store
                cmpa #'g
                beq go
                cmpa #'b
                lbeq boot
                bra prompt

; l ADDRESS: eight rows of eight bytes. Without an address it goes on.
look            lbsr number
                bcs .on
                std at
.on             ldx at
                ldb #8
.row            pshs b
                tfr x,d
                lbsr hex4
                ldb #8
.byte           lda #$20
                lbsr put
                lda ,x+
                lbsr hex2
                decb
                bne .byte
                leay new_line,pcr
                exg x,y
                lbsr print
                exg x,y
                puls b
                decb
                bne .row
                stx at
                lbra prompt

; p ADDRESS BYTE BYTE ...: puts bytes.
store           lbsr number
                lbcs prompt
                tfr d,y
.next           bsr number
                lbcs prompt
                stb ,y+
                bra .next

; g ADDRESS: goes there.
go              bsr number
                lbcs prompt
                tfr d,x
                jmp ,x

; Reads a hex number from X: D, and X behind it. Carry set: there is none. A word before it is passed over.
number          clra
                clrb
                pshs d                  ; 0,s the number
                pshs a                  ; 0,s digits seen, 1,s the number
.word           lda ,x                  ; the rest of the command's word, and blanks
                beq .end
                cmpa #$20
                beq .blank
                leax 1,x
                bra .word
.blank          lda ,x
                cmpa #$20
                bne .digit
                leax 1,x
                bra .blank
.digit          lda ,x
                suba #'0
                bcs .end
                cmpa #9
                bls .take
                lda ,x
                anda #$DF               ; capitals
                suba #'A-10
                cmpa #10
                blo .end
                cmpa #15
                bhi .end
.take           leax 1,x
                inc ,s
                ldb #4                  ; make room for four bits
.shift          asl 2,s
                rol 1,s
                decb
                bne .shift
                ora 2,s
                sta 2,s
                bra .digit
.end            lda ,s+                 ; flags: no digits is zero
                beq .none
                puls d
                andcc #$FE
                rts
.none           puls d
                orcc #$01
                rts

hello           fcb cr
                fcc "Larkfield 9, monitor 1"
                fcb cr,0
main_good       fcc "48 K main memory good"
                fcb cr,0
banks_good      fcc "8 banks of 8 K good"
                fcb cr,0
memory_bad      fcc "Memory bad at "
                fcb 0
banks_bad       fcc "Banks answer for one another"
                fcb 0
booting         fcc "Reading the disk "
                fcb 0
drive_bad       fcb cr
                fcc "The drive failed: "
                fcb 0
boot_none       fcb cr
                fcc "This disk starts nothing"
                fcb 0
boot_bad        fcc "What it starts is no module"
                fcb 0
help            fcb cr
                fcc "look, put, go, boot"
                fcb cr,0
ask             fcc "? "
                fcb 0
new_line        fcb cr,0
rub_out         fcb 8,$20,8,0

; --- Interrupts: through the words that the system sets ---

on_swi3         jmp [vectors]
on_swi2         jmp [vectors+2]
on_firq         jmp [vectors+4]
on_irq          jmp [vectors+6]
on_swi          jmp [vectors+8]
on_nmi          lbra monitor            ; the button on the back

                assert * <= $FF00, "the monitor is longer than its ROM"

                org $FFF0
                fdb monitor,on_swi3,on_swi2,on_firq,on_irq,on_swi,on_nmi,start
