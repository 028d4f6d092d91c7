; What every part of Tern and of the monitor agrees on: the machine's registers, where the system keeps its tables,
; the gate through which programs call it, and its error codes. This file places no bytes.
;
; docs/demo.md explains all of it at length.

; --- The machine: registers of the Larkfield 9 at $FF00-$FF7F ---

console         equ $FF00       ; 6850: control (write) and status (read); data at +1
second          equ $FF04       ; the 6850 for a second terminal, the same way
tick            equ $FF08       ; bit 7 reads 1 once 32,768 cycles have passed; any write clears it

disk_command    equ $FF10       ; write: what to do. Read: status
disk_unit       equ $FF11       ; address of the drive on the bus
disk_block      equ $FF12       ; number of the block, two bytes, high first
disk_data       equ $FF14       ; the 256 bytes of the block, one after another

disk_read       equ 1           ; commands
disk_busy       equ $80         ; status: the command is still going on
disk_ready      equ $40         ; status: bytes can be fetched from disk_data
disk_error      equ $01         ; status: it failed; bits 3 to 1 say why

map_entries     equ $FF60       ; translation board: 16 entries of the map that is being written
map_latch       equ $FF70       ; bit 7 on; bit 1 which map is written; bit 0 which map the CPU uses
bank_latch      equ $FF7F       ; bank behind the window at $C000, while translation is off

; --- The monitor's entries, for what must be said before the system can say it ---

rom_put         equ $E003       ; sends the character in A to the console
rom_print       equ $E006       ; sends the text at X, up to a zero byte
rom_monitor     equ $E009       ; the hex monitor

; --- Where the system keeps things. Blocks 0 to 7 of the memory ($0000-$7FFF) look the same to every process ---

                layout 0        ; the direct page
v_current       rmb 2           ; record of the process that runs
v_due           rmb 1           ; not zero: the running process has had its turn
v_calm          rmb 1           ; turns given away since the last interrupt
v_resting       rmb 1           ; not zero: everyone waits
v_task          rmb 1           ; which of the two maps the CPU uses, 0 or 1
v_ticks         rmb 4           ; ticks since the start
v_fraction      rmb 3           ; cycles of the running second
v_hours         rmb 1           ; time since the start
v_minutes       rmb 1
v_seconds       rmb 1
v_boot          rmb 2           ; the boot file: first byte, and the one after its last
v_bootend       rmb 2
v_room          rmb 2           ; first free byte of the module area
v_storage       rmb 2           ; first free byte of the drivers' storage
v_ticker        rmb 2           ; entry of the clock module
v_disk          rmb 2           ; device that a name without a device means
v_base          rmb 2           ; folder that such a name starts from: sector of its descriptor, 0 the root
v_buffers       rmb 5           ; one byte a sector buffer: 0 free
v_lock          rmb 1           ; not zero: a process waits for the disk
v_mid           rmb 1           ; middle byte of the CRC
v_a             rmb 2           ; scratch of system code; nothing in it outlives a yield
v_b             rmb 2
                endlayout

; Interrupts arrive in the monitor, which goes on through these words. They lie above $0100 so that the direct page
; is the system's alone.
vectors         equ $0160       ; SWI3, SWI2, FIRQ, IRQ, SWI: two bytes each
vector_irq      equ vectors+6

gate            equ $0100       ; 32 jumps of three bytes
t_blocks        equ $0170       ; 28 bytes: whose each 4 KiB block of memory is
t_processes     equ $0190       ; 8 records
t_modules       equ $0290       ; 40 entries of four bytes: address, links, 0
t_modules_end   equ t_modules+40*4
t_devices       equ $0330       ; 6 records of 12 bytes
t_devices_end   equ t_devices+6*12
system_stack    equ $0400       ; down from here, while the system starts
t_paths         equ $0400       ; 16 records of 32 bytes
t_storage       equ $0600       ; storage of the drivers
t_storage_end   equ $0A00
t_buffers       equ $0A00       ; 5 sector buffers
boot_at         equ $1000       ; the boot file is loaded here, up to 16 KiB
module_area     equ $5000       ; programs are loaded here, and shared
private         equ $8000       ; a process's own memory, up to five blocks
peep            equ $D000       ; here the kernel looks into another process's memory
private_end     equ $E000

block_count     equ 28          ; 12 blocks of main memory and 16 in the banks
block_free      equ $FF
block_system    equ $FE

                layout 0        ; a process
p_state         rmb 1           ; 0 no process, 1 ready, 2 ended but not yet asked for
p_number        rmb 1           ; 1 to 8
p_parent        rmb 1           ; number of who started it, 0 nobody who still runs
p_code          rmb 1           ; what it ended with, 0 well
p_stack         rmb 2           ; where its registers are while it waits for its turn
p_module        rmb 2           ; the program
p_in            rmb 1           ; paths it reads from and writes to
p_out           rmb 1
p_user          rmb 2
p_home          rmb 2           ; its folders: of files, and of programs
p_commands      rmb 2
p_map           rmb 6           ; blocks behind $8000-$DFFF
p_ticks         rmb 2           ; ticks that fell while it ran
p_stop          rmb 1           ; not zero: it is to end as soon as it can
p_heirs         rmb 2           ; user that those are whom it starts
p_spare         rmb 5
p_size          equ *
                endlayout
process_count   equ 8
t_processes_end equ t_processes+process_count*p_size

                layout 0        ; a device
d_descriptor    rmb 2           ; 0: no device
d_manager       rmb 2           ; entry of its manager and of its driver
d_driver        rmb 2
d_storage       rmb 2
d_port          rmb 2
d_spare         rmb 2
d_size          equ *
                endlayout

                layout 0        ; a path: something that was opened
o_users         rmb 1           ; processes that hold it; 0 no path
o_owner         rmb 1           ; number of the process that opened it
o_device        rmb 2
o_buffer        rmb 2           ; its sector buffer
o_lsn           rmb 2           ; sector of the file's descriptor
o_position      rmb 4           ; next byte to be read
o_size          rmb 4
o_first         rmb 2           ; the segment in hand: its first sector counted in the file, how many, and where on disk
o_count         rmb 2
o_start         rmb 2
o_held          rmb 2           ; sector that the buffer holds, $FFFF none
o_kind          rmb 1           ; the file's attributes; bit 7 a folder
o_echo          rmb 1           ; terminals: typed characters are shown
o_spare         rmb 6
path_size       equ *
                endlayout
                assert path_size = 32, "the kernel shifts to make a path's number of its address"
path_count      equ 16

; --- The gate: `jsr g_read`. A call keeps every register that it gives nothing back in, but for B.
;     Carry set: it failed, and B says why. DP is 0, always. ---

g_start         equ gate+3*0    ; X name, Y text for it, A path to read and write ($FF as mine): A its number
g_wait          equ gate+3*1    ; A process: B what it ended with
g_end           equ gate+3*2    ; B what with; never comes back
g_yield         equ gate+3*3    ; gives the rest of the turn away
g_open          equ gate+3*4    ; X name: A path, X behind the name
g_close         equ gate+3*5    ; A path
g_read          equ gate+3*6    ; A path, X where to, Y how many: Y read
g_line          equ gate+3*7    ; A path, X where to, Y at most: Y read, the last a return
g_write         equ gate+3*8    ; A path, X from where, Y how many
g_print         equ gate+3*9    ; X text up to a zero byte, to path 1
g_put           equ gate+3*10   ; A character, to path 1
g_link          equ gate+3*11   ; X name: U module
g_unlink        equ gate+3*12   ; U module
g_folder        equ gate+3*13   ; X name, A 0 folder of files, 1 of programs
g_echo          equ gate+3*14   ; A path, B 0 off
g_user          equ gate+3*15   ; D user that those are whom I start
g_stop          equ gate+3*16   ; A process
g_use           equ gate+3*17   ; A path: from now on path 0 and path 1
g_rest          equ gate+3*18   ; the same as g_yield in system code that holds nothing: a stopped process ends here
gate_count      equ 19

; A path of 0 is what the process reads from, 1 what it writes to; those that g_open gives count from 2.

e_end           equ 1           ; nothing more to read
e_name          equ 2           ; no such name
e_full          equ 3           ; a table or the memory is full
e_kind          equ 4           ; the wrong kind of thing
e_disk          equ 5           ; the disk does not give it
e_not           equ 6           ; not allowed, or not open
e_module        equ 7           ; a module whose sums are wrong
e_stopped       equ 8           ; another process ended it

; --- Modules ---

m_size          equ 2           ; offsets in a module's header
m_name          equ 4
m_type          equ 6
m_entry         equ 9
m_storage       equ 11

type_program    equ $11         ; type and language as they stand in the header
type_setup      equ $C0
type_descriptor equ $F0

cr              equ 13
lf              equ 10
