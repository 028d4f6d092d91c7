; Processes: who runs, who waits, and how the turn goes round.
;
; A process that does not run has all its registers on its own stack, in the order in which an interrupt puts them
; there, and p_stack says where. So one `rti` lets it go on, wherever it was interrupted.

                layout 0        ; registers as an interrupt leaves them
f_cc            rmb 1
f_a             rmb 1
f_b             rmb 1
f_dp            rmb 1
f_x             rmb 2
f_y             rmb 2
f_u             rmb 2
f_pc            rmb 2
f_size          equ *
                endlayout

; --- Interrupts ---

; Every device is asked, as several can share the line. Then: is the turn of the interrupted process over?
irq             clra
                tfr a,dp
                sta v_calm
                ldx v_ticker
                jsr 3,x
                ldu #t_devices
.device         ldx d_driver,u
                beq .asked
                jsr 9,x
.asked          leau d_size,u
                cmpu #t_devices_end
                blo .device
                tst v_due
                beq .back
                lda f_pc,s              ; only programs are interrupted: they lie between the module area and the ROM
                cmpa #module_area>>8
                blo .back
                cmpa #private_end>>8
                blo switch
.back           rti

; --- The turn goes round ---

; g_yield, and what system code calls where it has to wait. Keeps everything.
yield           orcc #$80               ; the mark of a whole set of registers
                pshs cc,a,b,dp,x,y,u    ; the way back is on the stack already
                orcc #$50
                inc v_calm
                lda v_calm
                cmpa #2*process_count   ; has everyone given the turn away, and nothing happened?
                blo switch
                clr v_calm
                inc v_resting
                andcc #$EF
                sync                    ; then rest until something does
                orcc #$50
                clr v_resting

; The running process stops here, its registers on its stack. Interrupts are off.
switch          ldx v_current
                sts p_stack,x

; The next process that is ready, after the one at X. There always is one: the first process only ever waits.
next            leax p_size,x
                cmpx #t_processes_end
                blo .look
                ldx #t_processes
.look           lda p_state,x
                cmpa #1
                bne next
                stx v_current
; Its memory is entered in the map that is not in use, and then the maps are exchanged in one write. Between that write
; and `lds` nothing may touch the stack.
                lda v_task
                eora #1
                sta v_task
                tfr a,b                 ; the latch: $80 on, bit 1 the map to write, bit 0 the map in use
                lslb
                orb #$80
                pshs b                  ; still the old stack, which is still there
                eora #1
                ora ,s+
                sta map_latch           ; write the new one, use the old one
                ldd p_map,x
                std map_entries+8
                ldd p_map+2,x
                std map_entries+10
                ldd p_map+4,x
                std map_entries+12
                lda v_task
                tfr a,b
                lslb
                beq .first
                ora #2
.first          ora #$80
                sta map_latch           ; use the new one
                lds p_stack,x
                clr v_due
                tst p_stop,x            ; was it told to end? In system code it finds out by itself
                beq .go
                lda f_pc,s
                cmpa #module_area>>8
                blo .go
                leay stopped,pcr
                sty f_pc,s
.go             rti

; --- Start ---

; g_start. In: X name of the program, Y text for it, A path to read and write ($FF: those of the caller).
; Out: A number of the process, X behind the name.
start_process   pshs d,y,u
                pshs x
                lbsr link               ; U module
                bcs .failed
                stx ,s
                lda m_type,u
                cmpa #type_program
                bne .kind
                lda 2,s
                lbsr new_process        ; X its record
                bcs .release
                lda p_number,x
                puls x
                sta ,s
                puls d,y,u
                andcc #$FE
                rts
.kind           ldb #e_kind
.release        lbsr unlink
.failed         puls x
                stb 1,s
                orcc #$01
                puls d,y,u,pc

; Makes a process for module U, with the text at Y and path A; X its record. At the start of the system, when nobody
; runs, U is found by the name at X.
new_process     ldx v_current
                bne .make
                pshs d,y
                ldx #name_buffer
                lbsr link
                puls d,y
                lbcs .end
.make           pshs a,y,u
                ldx #t_processes
                ldb #1
.free           tst p_state,x
                beq .record
                leax p_size,x
                incb
                cmpx #t_processes_end
                blo .free
                ldb #e_full
                bra .failed
.record         stb p_number,x
                bsr take_memory
                bcs .failed
                ldu 3,s
                stu p_module,x
                clr p_parent,x
                clr p_code,x
                clr p_stop,x
                clr p_ticks,x
                clr p_ticks+1,x
                ldd #0
                std p_user,x
                std p_heirs,x
                std p_home,x
                std p_commands,x
                ldy v_current
                beq .orphan             ; the first process has user 0, and the root for its folders
                lda p_number,y
                sta p_parent,x
                ldd p_heirs,y
                std p_user,x
                std p_heirs,x
                ldd p_home,y
                std p_home,x
                ldd p_commands,y
                std p_commands,x
.orphan         lda ,s                  ; the paths
                cmpa #$FF
                beq .inherit
                lbsr path_number        ; 0 and 1 mean the caller's
                sta p_in,x
                sta p_out,x
                bra .hold
.inherit        ldd p_in,y
                std p_in,x
.hold           lda p_in,x
                lbsr hold_path
                lda p_out,x
                lbsr hold_path
                ldy 1,s
                bsr first_registers
                lda #1
                sta p_state,x
                andcc #$FE
                puls a,y,u,pc
.failed         orcc #$01
                puls a,y,u,pc
.end            rts

; Gives process X as many blocks as the storage of module U asks for, its stack and its text among it.
take_memory     pshs d
                ldd m_storage,u
                addd #$0FFF+$0100
                lsra
                lsra
                lsra
                lsra                    ; in blocks of 4 KiB
                cmpa #5
                bhi .none
                ldy #$0000              ; no block yet: all of them show block 0
                sty p_map,x
                sty p_map+2,x
                sty p_map+4,x
                leay p_map,x
                ldu #t_blocks
                clrb
.block          pshs a
                lda ,u
                cmpa #block_free
                puls a
                bne .taken
                stb ,y+
                deca
                beq .done
.taken          leau 1,u
                incb
                cmpb #block_count
                blo .block
.none           ldb #e_full
                stb 1,s
                orcc #$01
                puls d,pc
.done           leay p_map,x            ; now that all are found they are its own
.own            ldb ,y+
                beq .all
                ldu #t_blocks
                lda p_number,x
                sta b,u
                bra .own
.all            andcc #$FE
                puls d,pc

; Puts the text at Y and the first registers of process X on its stack, in the last block of its memory, through the
; kernel's window into it.
text_room       equ 128
first_registers pshs d,y,u
                leau p_map,x
                ldd #private            ; where its memory ends for the process itself
.last           addd #$1000
                leau 1,u
                tst ,u
                bne .last
                std v_a
                ldb -1,u
                stb map_entries+(peep>>12)
                ldu #peep+$1000-text_room
                clrb
.text           lda ,y+
                cmpa #cr
                beq .text_end
                tsta
                beq .text_end
                sta ,u+
                incb
                cmpb #text_room-1
                blo .text
.text_end       clr ,u
                ldu #peep+$1000-text_room-f_size
                lda #$80                ; a whole set of registers, interrupts on
                sta f_cc,u
                clr f_a,u
                clr f_b,u
                clr f_dp,u
                ldd v_a
                subd #text_room
                std f_x,u               ; X its text
                std f_y,u
                subd #f_size
                std p_stack,x
                ldd #private
                std f_u,u               ; U its memory
                ldy p_module,x
                ldd m_entry,y
                leay d,y
                sty f_pc,u
                ldb p_map+5,x           ; the window shows what it showed
                ldy v_current
                beq .closed
                ldb p_map+5,y
                stb map_entries+(peep>>12)
.closed         puls d,y,u,pc

; --- The end ---

; Where a process goes on that another one stopped.
stopped         ldb #e_stopped

; g_end. In: B what it ends with.
end_process     ldx v_current
                stb p_code,x
                lda p_number,x
                ldu #t_paths            ; its paths
.path           tst o_users,u
                beq .next_path
                cmpa o_owner,u
                bne .next_path
                clr o_owner,u
                lbsr release
.next_path      leau path_size,u
                cmpu #t_paths+path_count*path_size
                blo .path
                lda p_in,x
                lbsr let_path_go
                lda p_out,x
                lbsr let_path_go
                lda p_number,x
                ldu #t_blocks           ; its memory. The stack stays where it is until the next process has its turn
                ldb #block_count
.block          cmpa ,u+
                bne .next_block
                pshs a
                lda #block_free
                sta -1,u
                puls a
.next_block     decb
                bne .block
                ldu #t_processes        ; those that it started
.child          tst p_state,u
                beq .next_child
                cmpa p_parent,u
                bne .next_child
                clr p_parent,u
                ldb p_state,u
                cmpb #2                 ; nobody will ask for it any more
                bne .next_child
                clr p_state,u
.next_child     leau p_size,u
                cmpu #t_processes_end
                blo .child
                ldu p_module,x
                lbsr unlink
                orcc #$50
                ldb #2
                tst p_parent,x
                bne .asked_for
                clrb
.asked_for      stb p_state,x
                lbra next

; g_wait. In: A a process. Out: B what it ended with. Waits until it ends.
wait            pshs a,x
.look           bsr process
                bcs .none
                ldb p_state,x
                cmpb #2
                beq .ended
                bsr rest
                lda ,s
                bra .look
.ended          ldb p_code,x
                clr p_state,x
                andcc #$FE
.none           puls a,x,pc

; Gives the turn away in system code that holds nothing, so that a process that was told to end does so here.
rest            pshs x
                lbsr yield
                ldx v_current
                tst p_stop,x
                lbne stopped
                puls x,pc

; The record of process A: X. Carry set: there is none.
process         tsta
                beq .none
                cmpa #process_count
                bhi .none
                deca
                ldb #p_size
                mul
                addd #t_processes
                tfr d,x
                tst p_state,x
                beq .none
                andcc #$FE
                rts
.none           ldb #e_name
                orcc #$01
                rts

; g_stop. In: A a process. A user can stop their own, user 0 everybody's; the first process nobody can.
stop            pshs a,x,u
                bsr process
                bcs .end
                lda p_number,x
                cmpa #1
                beq .not
                ldu v_current
                ldd p_user,u
                beq .allowed
                cmpd p_user,x
                bne .not
.allowed        inc p_stop,x
                andcc #$FE
.end            puls a,x,u,pc
.not            ldb #e_not
                orcc #$01
                puls a,x,u,pc

; g_user. In: D number of a user. Those whom the caller starts from now on are that user; only user 0 can say so.
user            pshs x,y
                ldx v_current
                ldy p_user,x
                bne .not
                std p_heirs,x
                andcc #$FE
                puls x,y,pc
.not            ldb #e_not
                orcc #$01
                puls x,y,pc
