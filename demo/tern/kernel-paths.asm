; Devices and paths: what is opened, by whom, and which manager looks after it.
;
; A manager's module begins with five jumps of three bytes: open, close, read, line, write. A driver's with four:
; prepare, get, give, interrupt. Managers are called with U the path, D where to or from, Y how many; drivers with U
; the device. Both keep U.

; Makes a record for every device descriptor of the boot file. Carry set: its manager or its driver is missing.
find_devices    ldu #t_devices
                ldx #t_modules
.module         ldy ,x
                beq .next
                lda m_type,y
                cmpa #type_descriptor
                bne .next
                cmpu #t_devices_end
                bhs .end                ; more devices than the table holds are passed over
                sty d_descriptor,u
                ldd $0F,y               ; its registers
                std d_port,u
                ldd v_storage
                std d_storage,u
                addd #160
                std v_storage
                pshs x,u
                ldd 9,y                 ; offset of the manager's name
                bsr module_entry
                bcs .missing
                ldu 2,s
                stx d_manager,u
                ldy d_descriptor,u
                ldd 11,y                ; and of the driver's
                bsr module_entry
                bcs .missing
                ldu 2,s
                stx d_driver,u
                jsr ,x                  ; prepare
                puls x,u
                leau d_size,u
.next           leax 4,x
                cmpx #t_modules_end
                blo .module
.end            andcc #$FE
                rts
.missing        puls x,u
                orcc #$01
                rts

; The entry of the module whose name stands at offset D of module Y: X.
module_entry    leax d,y
                lbsr high_name
                ldx #name_buffer
                lbsr find
                bcs .end
                ldd m_entry,u
                leax d,u
                andcc #$FE
.end            rts

; The device named at X: Y its record, and X behind the name. Carry set: there is none.
device          ldy #t_devices
.device         ldu d_descriptor,y
                beq .none
                pshs y
                ldd m_name,u
                leay d,u
                lbsr same
                puls y
                bcc .end
                leay d_size,y
                cmpy #t_devices_end
                blo .device
.none           ldb #e_name
                orcc #$01
.end            rts

; The same for a name whose last character has bit 7 set.
high_device     pshs u
                lbsr high_name
                ldx #name_buffer
                bsr device
                puls u,pc

; Opens the device that the text at X names, a slash first, bit 7 on its last character.
open_high       pshs u
                lbsr high_name
                ldx #name_buffer
                bsr open
                puls u,pc

; g_open. In: X name: `/device/folder/file`, or `folder/file` on the default disk from the caller's folder on.
; Out: A path, X behind the name.
open            pshs b,y,u
                lda ,x
                cmpa #'/
                beq .device
                ldu v_current
                ldd p_home,u
                std v_base
                ldu v_disk
                bra .on
.device         leax 1,x
                bsr device
                bcs .failed
                tfr y,u
                ldd #0
                std v_base
.on             bsr open_on
                bcs .failed
                bsr number_of
                puls b,y,u
                andcc #$FE
                rts
.failed         stb ,s
                puls b,y,u
                orcc #$01
                rts

; The number of path U: A. Counted from 2, as 0 and 1 are the process's own.
number_of       pshs b
                tfr u,d
                subd #t_paths
                lslb                    ; a record has 32 bytes, so three places up it is the high byte's matter
                rola
                lslb
                rola
                lslb
                rola
                adda #2
                puls b,pc

; Opens what the rest of the name at X means on device U: U path. Carry set: it cannot be opened.
open_on         pshs y
                ldy #t_paths
.free           tst o_users,y
                beq .found
                leay path_size,y
                cmpy #t_paths+path_count*path_size
                blo .free
                ldb #e_full
                orcc #$01
                puls y,pc
.found          stu o_device,y
                inc o_users,y
                ldd #0
                std o_buffer,y
                std o_position,y
                std o_position+2,y
                std o_size,y
                std o_size+2,y
                std o_count,y
                sta o_kind,y
                sta o_owner,y
                coma
                sta o_echo,y
                sta o_held,y
                sta o_held+1,y
                ldu v_current           ; nobody runs while the system starts
                beq .nobody
                lda p_number,u
                sta o_owner,y
.nobody         tfr y,u
                ldy o_device,u
                ldy d_manager,y
                jsr ,y
                puls y
                bcc .end
                pshs b
                bsr release
                puls b
                orcc #$01
.end            rts

; Lets path U go: whoever is the last to do so closes it. Keeps everything.
release         dec o_users,u
                bne .end
                pshs d,x,y
                ldy o_device,u
                ldy d_manager,y
                jsr 3,y
                clr o_owner,u
                puls d,x,y
.end            rts

; The path that number A means to the caller: U. Carry set: it is none.
path            pshs d
                bsr path_number
                suba #2
                cmpa #path_count
                bhs .not
                ldb #path_size
                mul
                addd #t_paths
                tfr d,u
                tst o_users,u
                beq .not
                andcc #$FE
                puls d,pc
.not            puls d
                ldb #e_not
                orcc #$01
                rts

; What 0 and 1 stand for: A.
path_number     pshs x
                cmpa #1
                bhi .end
                ldx v_current
                tsta
                beq .in
                lda p_out,x
                puls x,pc
.in             lda p_in,x
.end            puls x,pc

; Another process holds path number A, or one holds it no longer. Keeps everything.
hold_path       pshs d,u
                bsr path
                bcs .end
                inc o_users,u
.end            puls d,u,pc

let_path_go     pshs d,u
                bsr path
                bcs .end
                bsr release
.end            puls d,u,pc

; g_close. In: A path.
close           pshs u
                bsr path
                bcs .end
                clr o_owner,u
                bsr release
                andcc #$FE
.end            puls u,pc

; g_read, g_line, g_write. In: A path, X where to or from, Y how many. Out: Y how many it were.
; Each of them goes to the manager; what the path is, is the manager's matter.
read            pshs a,x,u
                bsr path
                bcs done
                bsr manager
                jsr 6,x
done            puls a,x,u,pc

line            pshs a,x,u
                bsr path
                bcs done
                bsr manager
                jsr 9,x
                puls a,x,u,pc

write           pshs a,x,u
                bsr path
                bcs done
                bsr manager
                jsr 12,x
                puls a,x,u,pc

; The manager of path U: its entry in X, and what was in X in D.
manager         tfr x,d
                ldx o_device,u
                ldx d_manager,x
                rts

; Reads Y bytes of path U to X, for the kernel itself.
read_all        pshs x
                bsr manager
                jsr 6,x
                puls x,pc

; g_print. In: X text up to a zero byte, for path 1.
print           pshs a,x,y
                ldy #0
.count          lda ,x+
                beq .counted
                leay 1,y
                bra .count
.counted        ldx 1,s
                lda #1
                bsr write
                puls a,x,y,pc

; g_put. In: A a character, for path 1.
put             pshs a,x,y
                tfr s,x
                ldy #1
                lda #1
                bsr write
                puls a,x,y,pc

; g_folder. In: X name of a folder, A 0 to find files from, 1 to find programs in.
folder          pshs a,x,y,u
                lbsr open
                bcs .failed
                lbsr path
                tst o_kind,u
                bpl .kind
                ldx v_current
                leax p_home,x
                tst ,s
                beq .home
                leax 2,x                ; p_commands
.home           ldy o_lsn,u
                sty ,x
                clr o_owner,u
                lbsr release
                andcc #$FE
                puls a,x,y,u,pc
.kind           clr o_owner,u
                lbsr release
                ldb #e_kind
.failed         orcc #$01
                puls a,x,y,u,pc

; g_echo. In: A path of a terminal, B 0: what is typed is not shown.
echo            pshs u
                lbsr path
                bcs .end
                stb o_echo,u
.end            puls u,pc

; g_use. In: A path. It becomes what the caller reads from and writes to; the caller still has to close it.
use             pshs a,x,u
                lbsr path
                bcs .end
                inc o_users,u
                inc o_users,u
                ldx v_current
                lda p_in,x
                lbsr let_path_go
                lda p_out,x
                lbsr let_path_go
                lbsr number_of
                sta p_in,x
                sta p_out,x
                andcc #$FE
.end            puls a,x,u,pc
