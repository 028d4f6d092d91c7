; Tern's kernel: it brings the system up, and then gives the processor to one process after another.
;
; How it stays simple: only programs are interrupted. A tick that falls while the system itself runs is remembered,
; and the system goes on until it returns to the program or gives the turn away itself, because it has to wait. So
; nothing in the system's tables ever changes under its hands, save what an interrupt puts into a driver's buffers.

                cpu 6809
                include "defs.asm"

                module "kernel", type=12, language=1, attributes=8, revision=1, edition=1, entry=start, storage=0

; --- The start. In: X the boot file, Y its length; interrupts are off, translation too ---

start           lds #system_stack
                tfr y,d
                leay d,x                ; the byte behind the boot file
                tfr x,u
                ldx #0                  ; everything below it starts as zero; nothing is on the stack yet
.clear          clr ,x+
                cmpx #boot_at
                bne .clear
                stu v_boot
                sty v_bootend
                ldd #module_area
                std v_room
                ldd #t_storage
                std v_storage
                lbsr open_map
                lbsr open_gate
                lbsr find_modules
                lda #'a                 ; the letter says how far the start came, if it fails
                bcs no_start
                leax irq,pcr
                stx vector_irq
                leax ticker_name,pcr
                lbsr find
                lda #'b
                bcs no_start
                ldd m_entry,u
                leax d,u
                stx v_ticker
                jsr ,x
                lbsr find_devices
                lda #'c
                bcs no_start
                lbsr find_setup         ; U the configuration module
                lda #'d
                bcs no_start

; The first process reads from and writes to the first terminal.
                ldd $12,u               ; offset of the terminal's name, a slash before it
                leax d,u
                lbsr open_high
                lda #'e
                bcs no_start
                ldd $10,u               ; the default disk
                leax d,u
                leax 1,x
                lbsr high_device        ; Y its record
                lda #'f
                bcs no_start
                sty v_disk
                ldd $0E,u               ; the start module
                leax d,u
                lbsr high_name
                ldx #name_buffer
                leay nothing,pcr
                lda #2
                lbsr new_process
                lda #'g
                bcs no_start
                ldx #t_paths
                dec o_users,x           ; only the process holds it now, to read and to write
                ldx #t_processes_end-p_size
                lbra next               ; the first turn

no_start        pshs a
                leax failed,pcr
                jsr rom_print
                puls a
                jsr rom_put
                jmp rom_monitor

failed          fcb cr
                fcc "Tern cannot start: "
nothing         fcb 0
ticker_name     fcc "ticker"
                fcb 0

name_buffer     equ $0F00       ; 32 bytes for a name from a module's header

; Both maps show blocks 0 to 7 as they are. Then translation is switched on: the program that is running does not
; notice, as its own addresses stay what they were.
open_map        clr map_latch           ; map 0 is written
                bsr .write
                lda #$02                ; map 1 is written
                sta map_latch
                bsr .write
                lda #$80                ; on; map 0 in use, map 0 written
                sta map_latch
                ldx #t_blocks           ; whose the blocks are
                ldd #block_system*256+8
.system         sta ,x+
                decb
                bne .system
                ldd #block_free*256+20
.free           sta ,x+
                decb
                bne .free
                rts
.write          ldx #map_entries
                clra
.entry          sta ,x+
                inca
                cmpa #16
                bne .entry
                rts

; Writes the jumps of the gate.
open_gate       ldx #gate
                leay doors,pcr
                lda #gate_count
.jump           ldb #$7E                ; JMP, extended
                stb ,x+
                pshs a
                ldd ,y++
                leau kernel_base,pcr
                leau d,u
                stu ,x++
                puls a
                deca
                bne .jump
                rts

kernel_base     equ *                   ; what the doors are counted from

doors           fdb start_process-kernel_base
                fdb wait-kernel_base
                fdb end_process-kernel_base
                fdb yield-kernel_base
                fdb open-kernel_base
                fdb close-kernel_base
                fdb read-kernel_base
                fdb line-kernel_base
                fdb write-kernel_base
                fdb print-kernel_base
                fdb put-kernel_base
                fdb link-kernel_base
                fdb unlink-kernel_base
                fdb folder-kernel_base
                fdb echo-kernel_base
                fdb user-kernel_base
                fdb stop-kernel_base
                fdb use-kernel_base
                fdb rest-kernel_base

                include "kernel-modules.asm"
                include "kernel-processes.asm"
                include "kernel-paths.asm"

                endmodule
