/**
 * The pseudo-random sequence of ITU-T O.150 of 2^15 − 1 bits (clause 5.3, from memory): a 15-stage shift register whose
 * 14th and 15th stages are added modulo 2 into the first; what goes out is inverted, so that the longest run of zeros is
 * 15. Characters take its bits in order, the first into bit 0, which goes out first.
 */
export const PERIOD = 32_767;

/** One period, a bit a byte. */
function period(): Uint8Array {
  const bits = new Uint8Array(PERIOD);
  let register = 0x7fff;
  for (let at = 0; at < PERIOD; at++) {
    bits[at] = ((register >> 14) & 1) ^ 1;
    const fed = ((register >> 13) ^ (register >> 14)) & 1;
    register = ((register << 1) | fed) & 0x7fff;
  }
  return bits;
}

const BITS = period();

/** Where in the period each window of 15 bits starts: the sequence holds each but one exactly once. */
function places(): Int32Array {
  const found = new Int32Array(1 << 15).fill(-1);
  for (let at = 0; at < PERIOD; at++) {
    let window = 0;
    for (let bit = 0; bit < 15; bit++) window |= BITS[(at + bit) % PERIOD]! << bit;
    found[window] = at;
  }
  return found;
}

const PLACES = places();

/** `count` characters of `data` bits from the character with number `from` on. */
export function sequence(count: number, data: number, from = 0): Uint8Array {
  const out = new Uint8Array(count);
  for (let at = 0; at < count; at++) out[at] = characterAt((from + at) * data, data);
  return out;
}

function characterAt(bit: number, data: number): number {
  let value = 0;
  for (let each = 0; each < data; each++) value |= BITS[(bit + each) % PERIOD]! << each;
  return value;
}

export interface SequenceErrors {
  /** Characters that were compared, and bits in them. */
  characters: number;
  bits: number;
  wrongBits: number;
  wrongCharacters: number;
  /** Characters missing, and too many, as far as the place in the sequence tells. */
  lost: number;
  extra: number;
  /** Characters that belong nowhere: noise before the sequence was found, or between. */
  unplaced: number;
}

/** Characters of a look ahead: with this many wrong the place is lost. */
const WINDOW = 8;
const TOO_WRONG = 5;
/** Characters that must agree for a place to be taken. */
const AGREE = 6;

const ones = (value: number): number => {
  let count = 0;
  for (let rest = value; rest !== 0; rest &= rest - 1) count++;
  return count;
};

/**
 * Compares what came back with the sequence sent from its start. Lost and doubled characters are found by their place in
 * the sequence, so they don't count as wrong bits. A stretch with more than half its characters wrong counts as unplaced.
 */
export function compareSequence(received: Uint8Array, data: number): SequenceErrors {
  const errors = { characters: 0, bits: 0, wrongBits: 0, wrongCharacters: 0, lost: 0, extra: 0, unplaced: 0 };
  const mask = (1 << data) - 1;
  /** Number of the character that should come next; the sequence starts at 0. */
  let next = 0;
  let at = 0;
  /** Unplaced characters since the last that stood where it should: surplus ones are counted as such once that is known. */
  let pending = 0;
  const agrees = (from: number, number: number, least: number): boolean => {
    let good = 0;
    const end = Math.min(WINDOW, received.length - from);
    for (let ahead = 0; ahead < end; ahead++)
      if ((received[from + ahead]! & mask) === characterAt((number + ahead) * data, data)) good++;
    return good >= Math.min(least, end);
  };
  while (at < received.length) {
    const got = received[at]! & mask;
    const wrong = got ^ characterAt(next * data, data);
    if (wrong === 0 || agrees(at + 1, next + 1, WINDOW - TOO_WRONG + 1)) {
      errors.characters++;
      errors.bits += data;
      errors.wrongBits += ones(wrong);
      if (wrong !== 0) errors.wrongCharacters++;
      pending = 0;
      next++;
      at++;
      continue;
    }
    const place = placeOf(received, at, data, next, agrees);
    if (place === undefined) {
      errors.unplaced++;
      pending++;
      at++;
      next++;
      continue;
    }
    if (place > next) errors.lost += place - next;
    else {
      errors.extra += next - place;
      errors.unplaced -= Math.min(pending, next - place);
    }
    pending = 0;
    next = place;
  }
  return errors;
}

/** Number of the character that stands at `at`, nearest to the one expected, or undefined where it is none. */
function placeOf(
  received: Uint8Array,
  at: number,
  data: number,
  expected: number,
  agrees: (from: number, number: number, least: number) => boolean,
): number | undefined {
  if (at + AGREE > received.length) return undefined;
  let window = 0;
  for (let bit = 0; bit < 15; bit++) window |= ((received[at + Math.floor(bit / data)]! >> (bit % data)) & 1) << bit;
  const bit = PLACES[window]!;
  if (bit < 0) return undefined;
  // Characters of 7 bits meet only every 7th bit of the sequence; 7 divides its period.
  const numbers = data === 7 ? PERIOD / 7 : PERIOD;
  if (data === 7 && bit % 7 !== 0) return undefined;
  const inverse = data === 7 ? 1 : inverseOf(data);
  const number = data === 7 ? bit / 7 : (bit * inverse) % PERIOD;
  let ahead = (number - (expected % numbers) + numbers) % numbers;
  if (ahead > numbers / 2) ahead -= numbers;
  const place = expected + ahead;
  return place >= 0 && place !== expected && agrees(at, place, AGREE) ? place : undefined;
}

/** What multiplied with `data` gives 1 modulo the period. */
function inverseOf(data: number): number {
  for (let each = 1; ; each++) if ((each * data) % PERIOD === 1) return each;
}
