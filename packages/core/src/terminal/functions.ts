/**
 * Names of control functions: ECMA-48 (5th edition, June 1991) tables 1 to 4 and clause 8.3, and ECMA-35 for escape
 * sequences with intermediate bytes. Tables from memory, held against published ones in `checks/terminal`.
 */

export type FunctionKind =
  | "C0"
  | "C1"
  | "independent"
  | "sequence"
  | "string"
  | "private sequence"
  | "private escape"
  | "code designation"
  | "unassigned";

export interface ControlFunction {
  /** Abbreviation; where the standard gives none, the form: "CSI ? h", "ESC 7". */
  name: string;
  title: string;
  kind: FunctionKind;
}

/** "byte abbreviation title", one function a line; the byte in hex. */
const C0 = `
00 NUL Null
01 SOH Start of heading
02 STX Start of text
03 ETX End of text
04 EOT End of transmission
05 ENQ Enquiry
06 ACK Acknowledge
07 BEL Bell
08 BS Backspace
09 HT Character tabulation
0A LF Line feed
0B VT Line tabulation
0C FF Form feed
0D CR Carriage return
0E SO Shift-out
0F SI Shift-in
10 DLE Data link escape
11 DC1 Device control one
12 DC2 Device control two
13 DC3 Device control three
14 DC4 Device control four
15 NAK Negative acknowledge
16 SYN Synchronous idle
17 ETB End of transmission block
18 CAN Cancel
19 EM End of medium
1A SUB Substitute
1B ESC Escape
1C IS4 Information separator four
1D IS3 Information separator three
1E IS2 Information separator two
1F IS1 Information separator one
7F DEL Delete`;

/** IND (84) was withdrawn with the 4th edition; terminals still obey it. */
const C1 = `
82 BPH Break permitted here
83 NBH No break here
84 IND Index
85 NEL Next line
86 SSA Start of selected area
87 ESA End of selected area
88 HTS Character tabulation set
89 HTJ Character tabulation with justification
8A VTS Line tabulation set
8B PLD Partial line forward
8C PLU Partial line backward
8D RI Reverse line feed
8E SS2 Single-shift two
8F SS3 Single-shift three
90 DCS Device control string
91 PU1 Private use one
92 PU2 Private use two
93 STS Set transmit state
94 CCH Cancel character
95 MW Message waiting
96 SPA Start of guarded area
97 EPA End of guarded area
98 SOS Start of string
9A SCI Single character introducer
9B CSI Control sequence introducer
9C ST String terminator
9D OSC Operating system command
9E PM Privacy message
9F APC Application program command`;

const INDEPENDENT = `
60 DMI Disable manual input
61 INT Interrupt
62 EMI Enable manual input
63 RIS Reset to initial state
64 CMD Coding method delimiter
6E LS2 Locking-shift two
6F LS3 Locking-shift three
7C LS3R Locking-shift three right
7D LS2R Locking-shift two right
7E LS1R Locking-shift one right`;

const SEQUENCES = `
40 ICH Insert character
41 CUU Cursor up
42 CUD Cursor down
43 CUF Cursor right
44 CUB Cursor left
45 CNL Cursor next line
46 CPL Cursor preceding line
47 CHA Cursor character absolute
48 CUP Cursor position
49 CHT Cursor forward tabulation
4A ED Erase in page
4B EL Erase in line
4C IL Insert line
4D DL Delete line
4E EF Erase in field
4F EA Erase in area
50 DCH Delete character
51 SEE Select editing extent
52 CPR Active position report
53 SU Scroll up
54 SD Scroll down
55 NP Next page
56 PP Preceding page
57 CTC Cursor tabulation control
58 ECH Erase character
59 CVT Cursor line tabulation
5A CBT Cursor backward tabulation
5B SRS Start reversed string
5C PTX Parallel texts
5D SDS Start directed string
5E SIMD Select implicit movement direction
60 HPA Character position absolute
61 HPR Character position forward
62 REP Repeat
63 DA Device attributes
64 VPA Line position absolute
65 VPR Line position forward
66 HVP Character and line position
67 TBC Tabulation clear
68 SM Set mode
69 MC Media copy
6A HPB Character position backward
6B VPB Line position backward
6C RM Reset mode
6D SGR Select graphic rendition
6E DSR Device status report
6F DAQ Define area qualification`;

/** With the intermediate byte 02/00. */
const SPACED = `
40 SL Scroll left
41 SR Scroll right
42 GSM Graphic size modification
43 GSS Graphic size selection
44 FNT Font selection
45 TSS Thin space specification
46 JFY Justify
47 SPI Spacing increment
48 QUAD Quad
49 SSU Select size unit
4A PFS Page format selection
4B SHS Select character spacing
4C SVS Select line spacing
4D IGS Identify graphic subrepertoire
4F IDCS Identify device control string
50 PPA Page position absolute
51 PPR Page position forward
52 PPB Page position backward
53 SPD Select presentation directions
54 DTA Dimension text area
55 SLH Set line home
56 SLL Set line limit
57 FNK Function key
58 SPQR Select print quality and rapidity
59 SEF Sheet eject and feed
5A PEC Presentation expand or contract
5B SSW Set space width
5C SACS Set additional character separation
5D SAPV Select alternative presentation variants
5E STAB Selective tabulation
5F GCC Graphic character combination
60 TATE Tabulation aligned trailing edge
61 TALE Tabulation aligned leading edge
62 TAC Tabulation aligned centred
63 TCC Tabulation centred on character
64 TSR Tabulation stop remove
65 SCO Select character orientation
66 SRCS Set reduced character separation
67 SCS Set character spacing
68 SLS Set line spacing
69 SPH Set page home
6A SPL Set page limit
6B SCP Select character path`;

function tableOf(text: string, kind: FunctionKind): ReadonlyMap<number, ControlFunction> {
  const table = new Map<number, ControlFunction>();
  for (const line of text.trim().split("\n")) {
    const [, byte = "", name = "", title = ""] = /^(\S+) (\S+) (.+)$/.exec(line) ?? [];
    table.set(Number.parseInt(byte, 16), { name, title, kind });
  }
  return table;
}

const controls = new Map([...tableOf(C0, "C0"), ...tableOf(C1, "C1")]);
const independent = tableOf(INDEPENDENT, "independent");
const sequences = tableOf(SEQUENCES, "sequence");
const spaced = tableOf(SPACED, "sequence");

/** Every assigned function with its form: "0A", "9B", "ESC 63", "CSI 41", "CSI 20 41". For tables and checks. */
export const assignedFunctions = (): readonly (ControlFunction & { form: string })[] => [
  ...listed(controls, ""),
  ...listed(independent, "ESC "),
  ...listed(sequences, "CSI "),
  ...listed(spaced, "CSI 20 "),
];

const listed = (table: ReadonlyMap<number, ControlFunction>, lead: string) =>
  [...table].map(([byte, each]) => ({
    ...each,
    form: lead + byte.toString(16).toUpperCase().padStart(2, "0"),
  }));

const char = (byte: number): string => String.fromCharCode(byte);
const known = new Map<number, ControlFunction>();
/** One object a form, however often it is met. */
function remembered(key: number, make: () => ControlFunction): ControlFunction {
  let found = known.get(key);
  if (!found) {
    found = make();
    known.set(key, found);
  }
  return found;
}

/** A byte of the C0 or C1 set (8-bit form), or DEL. */
export const controlOf = (byte: number): ControlFunction =>
  controls.get(byte) ??
  remembered(byte, () => ({
    name: byte.toString(16).toUpperCase().padStart(2, "0"),
    title: "Not assigned",
    kind: "unassigned",
  }));

/** The last two intermediate bytes packed into a number, the earlier one higher; 0 where there is none. */
type Packed = number;
const unpacked = (intermediates: Packed): string =>
  (intermediates > 0xff ? char(intermediates >> 8) : "") + (intermediates > 0 ? char(intermediates & 0xff) : "");

/** An escape sequence that is no 7-bit form of a C1 function (those are told as controls). */
export function escapeOf(intermediates: Packed, final: number): ControlFunction {
  if (intermediates === 0) {
    const found = independent.get(final);
    if (found) return found;
  }
  return remembered(0x1_000_000 + intermediates * 256 + final, () => {
    const name = `ESC ${unpacked(intermediates)}${char(final)}`;
    if (intermediates > 0)
      return { name, title: "Code identification or designation (ECMA-35)", kind: "code designation" };
    if (final < 0x40) return { name, title: "Private escape sequence (ECMA-35)", kind: "private escape" };
    return { name, title: "Not assigned", kind: "unassigned" };
  });
}

/** A control sequence, by what leads its parameters (3C to 3F, or 0), its intermediate bytes and its final byte. */
export function sequenceOf(lead: number, intermediates: Packed, final: number): ControlFunction {
  if (lead === 0) {
    const found = intermediates === 0 ? sequences.get(final) : intermediates === 0x20 ? spaced.get(final) : undefined;
    if (found) return found;
  }
  return remembered(0x100_000_000 + (lead * 65_536 + intermediates) * 256 + final, () => {
    const name = `CSI ${lead ? `${char(lead)} ` : ""}${unpacked(intermediates)}${char(final)}`;
    if (lead > 0) return { name, title: "Private parameters (ECMA-48 5.4.1)", kind: "private sequence" };
    if (final >= 0x70) return { name, title: "Private control sequence (ECMA-48 5.4)", kind: "private sequence" };
    return { name, title: "Not assigned", kind: "unassigned" };
  });
}
