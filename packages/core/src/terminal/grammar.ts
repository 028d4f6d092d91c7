/** The grammar of ECMA-48 clause 5 as a table: for each state and byte, what is done and the next state. */

export const State = {
  Ground: 0,
  /** After ESC. */
  Escape: 1,
  /** After ESC and intermediate bytes. */
  EscapeIntermediate: 2,
  /** After CSI, in parameter bytes. */
  Parameters: 3,
  /** In intermediate bytes of a control sequence. */
  Intermediates: 4,
  /** In a control sequence that breaks the grammar, up to its final byte. */
  Broken: 5,
  /** In the command string of DCS, OSC, PM or APC. */
  Command: 6,
  /** After ESC in a command string. */
  CommandEscape: 7,
  /** In the character string of SOS, which may hold any byte. */
  Characters: 8,
  CharactersEscape: 9,
} as const;
const STATES = 10;

export const Action = {
  Ignore: 0,
  Text: 1,
  /** A C0 or C1 function. */
  Control: 2,
  /** ESC: forget what was gathered. */
  Begin: 3,
  Intermediate: 4,
  EscapeEnd: 5,
  /** CSI, in either form. */
  SequenceBegin: 6,
  Parameter: 7,
  SequenceEnd: 8,
  StringBegin: 9,
  StringByte: 10,
  StringEnd: 11,
  /** CAN or SUB, or a byte that may not stand here: what was begun is given up. */
  Cancel: 12,
  /** A byte against the grammar; the sequence goes on but has no meaning. */
  Fault: 13,
  /** ESC in a command string was no string terminator: give up the string and read the byte after ESC. */
  Cut: 14,
} as const;

type Table = Uint8Array;
const C1_FIRST = 0x80;
const C1_LAST = 0x9f;

/** What the 7-bit form ESC 40–5F, or its C1 byte 80–9F, leads to. */
function afterC1(byte: number): [action: number, state: number] {
  switch (byte) {
    case 0x9b:
      return [Action.SequenceBegin, State.Parameters];
    case 0x90:
    case 0x9d:
    case 0x9e:
    case 0x9f:
      return [Action.StringBegin, State.Command];
    case 0x98:
      return [Action.StringBegin, State.Characters];
    default:
      return [Action.Control, State.Ground];
  }
}

/**
 * Builds the table. With 7 bits the high bit is parity or nothing and the rows from 80 repeat those from 00; without
 * sequences ESC is a control like any other.
 */
function build(bits: 7 | 8, sequences: boolean): Table {
  const table = new Uint8Array(STATES * 256);
  const set = (state: number, from: number, to: number, action: number, next: number) => {
    for (let byte = from; byte <= to; byte++) table[state * 256 + byte] = (action << 4) | next;
  };
  set(State.Ground, 0x20, 0x7e, Action.Text, State.Ground);
  set(State.Ground, 0xa0, 0xff, Action.Text, State.Ground);
  set(State.Ground, 0x00, 0x1f, Action.Control, State.Ground);
  set(State.Ground, 0x7f, 0x7f, Action.Control, State.Ground);

  for (const state of [State.Escape, State.EscapeIntermediate, State.Parameters, State.Intermediates, State.Broken]) {
    // C0 functions inside a sequence are obeyed at once: implementation-defined by the standard, and the usual way.
    set(state, 0x00, 0x1f, Action.Control, state);
    set(state, 0x7f, 0x7f, Action.Ignore, state);
    set(state, 0xa0, 0xff, Action.Cancel, State.Ground);
  }
  set(State.Escape, 0x20, 0x2f, Action.Intermediate, State.EscapeIntermediate);
  set(State.Escape, 0x30, 0x7e, Action.EscapeEnd, State.Ground);
  for (let byte = C1_FIRST; byte <= C1_LAST; byte++) {
    const [action, next] = afterC1(byte);
    set(State.Escape, byte - 0x40, byte - 0x40, action, next);
  }
  set(State.EscapeIntermediate, 0x20, 0x2f, Action.Intermediate, State.EscapeIntermediate);
  set(State.EscapeIntermediate, 0x30, 0x7e, Action.EscapeEnd, State.Ground);

  set(State.Parameters, 0x30, 0x3f, Action.Parameter, State.Parameters);
  for (const state of [State.Parameters, State.Intermediates]) {
    set(state, 0x20, 0x2f, Action.Intermediate, State.Intermediates);
    set(state, 0x40, 0x7e, Action.SequenceEnd, State.Ground);
  }
  // Parameter bytes may not follow intermediate bytes (5.4).
  set(State.Intermediates, 0x30, 0x3f, Action.Fault, State.Broken);
  set(State.Broken, 0x20, 0x3f, Action.Ignore, State.Broken);
  set(State.Broken, 0x40, 0x7e, Action.Cancel, State.Ground);

  // 5.6: command strings hold 08 to 0D and 20 to 7E; other bytes are passed over, or end the string (CAN, SUB, ESC).
  set(State.Command, 0x00, 0xff, Action.Ignore, State.Command);
  set(State.Command, 0x08, 0x0d, Action.StringByte, State.Command);
  set(State.Command, 0x20, 0x7e, Action.StringByte, State.Command);
  set(State.CommandEscape, 0x00, 0xff, Action.Cut, State.Escape);
  set(State.CommandEscape, 0x5c, 0x5c, Action.StringEnd, State.Ground);
  set(State.Characters, 0x00, 0xff, Action.StringByte, State.Characters);
  set(State.Characters, 0x1b, 0x1b, Action.Ignore, State.CharactersEscape);
  set(State.CharactersEscape, 0x00, 0xff, Action.StringByte, State.Characters);
  set(State.CharactersEscape, 0x1b, 0x1b, Action.StringByte, State.CharactersEscape);
  set(State.CharactersEscape, 0x5c, 0x5c, Action.StringEnd, State.Ground);

  for (const state of [
    State.Ground,
    State.Escape,
    State.EscapeIntermediate,
    State.Parameters,
    State.Intermediates,
    State.Broken,
    State.Command,
  ]) {
    if (bits === 8)
      for (let byte = C1_FIRST; byte <= C1_LAST; byte++) {
        const [action, next] = afterC1(byte);
        set(state, byte, byte, action, next);
      }
    set(state, 0x1b, 0x1b, Action.Begin, State.Escape);
    if (state !== State.Ground) {
      set(state, 0x18, 0x18, Action.Cancel, State.Ground);
      set(state, 0x1a, 0x1a, Action.Cancel, State.Ground);
    }
  }
  set(State.Command, 0x1b, 0x1b, Action.Ignore, State.CommandEscape);
  set(State.Characters, 0x18, 0x18, Action.Cancel, State.Ground);
  set(State.Characters, 0x1a, 0x1a, Action.Cancel, State.Ground);
  if (bits === 8) {
    set(State.Command, 0x9c, 0x9c, Action.StringEnd, State.Ground);
    set(State.Characters, 0x9c, 0x9c, Action.StringEnd, State.Ground);
    set(State.CharactersEscape, 0x9c, 0x9c, Action.StringEnd, State.Ground);
  }
  if (!sequences) set(State.Ground, 0x1b, 0x1b, Action.Control, State.Ground);
  if (bits === 7)
    for (let state = 0; state < STATES; state++) table.copyWithin(state * 256 + 0x80, state * 256, state * 256 + 0x80);
  return table;
}

const built = new Map<string, Table>();

/** The table for lines of 7 or 8 bits, with or without escape sequences. Shared: not to be written. */
export function grammar(bits: 7 | 8, sequences: boolean): Table {
  const key = `${bits}${sequences}`;
  let table = built.get(key);
  if (!table) {
    table = build(bits, sequences);
    built.set(key, table);
  }
  return table;
}
