; processes         who runs: number, who started it, user, ticks of processor time, program

                cpu 6809
                include "defs.asm"

                module "processes", type=1, language=1, attributes=8, revision=1, edition=1, entry=entry, storage=64

entry           leax title,pcr
                jsr g_print
                ldy #t_processes
.process        lda p_state,y
                beq .next
                ldb p_number,y
                clra
                lbsr decimal
                ldb #4
                lbsr blanks
                ldb p_parent,y
                clra
                lbsr decimal
                ldb #4
                lbsr blanks
                ldd p_user,y
                bsr column
                ldd p_ticks,y
                bsr column
                ldx p_module,y
                ldd m_name,x
                leax d,x
                lbsr send_name
                lda p_state,y
                cmpa #2
                bne .line
                leax ended,pcr
                jsr g_print
.line           lbsr new_line
.next           leay p_size,y
                cmpy #t_processes_end
                blo .process
                clrb
                jmp g_end

; Sends D, and blanks behind it up to seven columns.
column          lbsr decimal
                negb
                addb #7
                lbra blanks

title           fcb "no   of   user   ticks  program",cr,0
ended           fcb " (ended)",0

                include "programs/lib.asm"
                endmodule
