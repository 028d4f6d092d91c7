; What the ROM, the system and the programs of the Larkfield Z agree on. This file places no bytes.
; docs/demo.md tells it at length.

; --- The machine: ports ---

console_data    equ $10         ; 8251: a character in or out
console_control equ $11         ; its mode, commands and status
disk_command    equ $20         ; disk controller: write what to do, read the status
disk_track      equ $21         ; 0 to 76
disk_sector     equ $22         ; 1 to 26
disk_data       equ $23         ; the 128 bytes of the sector, one after another

disk_read       equ 1           ; command
disk_busy       equ $80         ; status: it is still going on
disk_error      equ $01         ; status: it failed

; --- Memory ---

text            equ $0040       ; what was typed behind a program's name, up to a zero byte
program         equ $0100       ; programs are loaded here,
program_end     equ $DF00       ; and end below this; the stack grows down towards it
system          equ $E000       ; the system, 32 sectors
rom             equ $F000

; --- The system's entries: `call put`. They change A and flags, and what they give something back in ---

sys_put         equ system+3    ; A: a character for the console
sys_get         equ system+6    ; A: a character from it
sys_print       equ system+9    ; HL: text up to a zero byte
sys_line        equ system+12   ; HL: room, B: how much; a typed line, zero at its end
sys_open        equ system+15   ; HL: name of a file; carry set: none, else HL behind it
sys_record      equ system+18   ; HL: 128 bytes of it go there, HL behind them; carry set: no more
sys_entry       equ system+21   ; A: number of a directory entry, 0 to 63; HL: its 32 bytes
sys_leave       equ system+24   ; the program ends; a plain `ret` does the same

cr              equ 13
lf              equ 10
