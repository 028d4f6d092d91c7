; The device descriptors: which manager and driver look after which registers, and how they are set. Offsets stand as
; docs/system.md tells them.

                cpu 6809
                include "defs.asm"

; A terminal of 24 lines: 2,400 bit/s, seven bits, even parity, one stop bit, the 6850's clock divided by 16.
                module type=15, language=0, attributes=8, revision=1
here_term       equ *-9
                fdb manager_term-here_term
                fdb driver_term-here_term
                fcb $03                 ; may be read and written
                fcb 0                   ; its registers, three bytes
                fdb console
                fcb table_term_end-table_term
table_term      fcb 0                   ; class: terminal
                fcb 0,0,0               ; small letters too
                fcb 1                   ; what is typed is shown
                fcb 1                   ; a return takes a line feed with it
                fcb 0                   ; no idle characters
                fcb 1,24                ; a page, and how many lines it has
                fcb 8,$18,13            ; keys: back, the whole line, end of line
                fcb 0,0,0,0,0,0,0,0
                fcb $09                 ; 6850: seven bits, even parity, one stop bit, divided by 16
                fcb $04                 ; 2,400 bit/s
                fcb 0,0
                fcb $11,$13             ; go on, pause
table_term_end  equ *
                modulename "term"
manager_term    lasthi "lines"
driver_term     lasthi "serial"
                endmodule

; The same for the second terminal.
                module type=15, language=0, attributes=8, revision=1
here_t1         equ *-9
                fdb manager_t1-here_t1
                fdb driver_t1-here_t1
                fcb $03
                fcb 0
                fdb second
                fcb table_t1_end-table_t1
table_t1        fcb 0
                fcb 0,0,0
                fcb 1
                fcb 1
                fcb 0
                fcb 1,24
                fcb 8,$18,13
                fcb 0,0,0,0,0,0,0,0
                fcb $09
                fcb $04
                fcb 0,0
                fcb $11,$13
table_t1_end    equ *
                modulename "t1"
manager_t1      lasthi "lines"
driver_t1       lasthi "serial"
                endmodule

; The drive: zoned, 77 tracks, two sides.
                module type=15, language=0, attributes=8, revision=1
here_d0         equ *-9
                fdb manager_d0-here_d0
                fdb driver_d0-here_d0
                fcb $81                 ; may be read; has folders
                fcb 0
                fdb disk_command
                fcb table_d0_end-table_d0
table_d0        fcb 1                   ; class: disk
                fcb 8                   ; address on the bus
                fcb 0                   ; the drive steps as it likes
                fcb 0                   ; flexible
                fcb 3                   ; density
                fdb 77                  ; tracks
                fcb 2                   ; sides
                fcb 0
                fdb 29                  ; sectors of the longest tracks, and of the first
                fdb 29
                fcb 1                   ; interleave: the drive has a buffer
                fcb 2                   ; sectors that a file grows by
table_d0_end    equ *
                modulename "d0"
manager_d0      lasthi "segments"
driver_d0       lasthi "drive"
                endmodule
