import { crc16 } from "../bytes/index.ts";
import type { Recording } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { mapBlocks } from "../geometry/index.ts";
import { type Cells, CellWriter } from "./cells.ts";
import {
  FM_PRESET,
  FM_WORDS,
  fmMark,
  MARK,
  MFM_INDEX_SYNC,
  MFM_PRESET,
  MFM_SYNC,
  MFM_WORDS,
  sizeCode,
} from "./codes.ts";
import { type Field, trackFields } from "./fields.ts";
import { sectorOrder, type TrackForm, trackForm } from "./form.ts";
import { GROUP_MARK, putGroupCode, xorOf } from "./group.ts";

export interface EncodeOptions {
  /** Sector numbers lie this many places apart; 1 where left out. */
  interleave?: number;
  /** The two ID bytes in the headers of a zoned disk; "00" where left out. */
  diskId?: readonly [number, number];
}

/** Puts bytes down in FM or MFM, two bytes of cells each, one last bit remembered. */
class ByteWriter {
  readonly bits: Uint8Array;
  readonly #words: Uint16Array;
  readonly #mfm: boolean;
  #at = 0;
  #last = 0;

  constructor(cells: number, mfm: boolean) {
    this.bits = new Uint8Array(cells >> 3);
    this.#mfm = mfm;
    this.#words = mfm ? MFM_WORDS : FM_WORDS;
  }

  #word(word: number): void {
    this.bits[this.#at] = word >> 8;
    this.bits[this.#at + 1] = word;
    this.#at += 2;
  }

  byte(byte: number): void {
    this.#word(this.#words[this.#mfm ? (this.#last << 8) | byte : byte]!);
    this.#last = byte & 1;
  }

  bytes(bytes: Uint8Array): void {
    for (let i = 0; i < bytes.length; i++) this.byte(bytes[i]!);
  }

  fill(byte: number, cells: number): void {
    for (let left = cells; left >= 16; left -= 16) this.byte(byte);
  }

  /** A mark: one byte of FM with clocks of its own, or three sync bytes of MFM and then the mark. */
  mark(mark: number): void {
    if (this.#mfm) {
      const sync = mark === MARK.index ? MFM_INDEX_SYNC : MFM_SYNC;
      for (let i = 0; i < 3; i++) this.#word(sync.word);
      this.#last = sync.byte & 1;
      this.byte(mark);
    } else {
      this.#word(fmMark(mark));
      this.#last = mark & 1;
    }
  }
}

/** Two bytes of CRC, high byte first, over a mark and what follows it. */
function crcOf(mfm: boolean, mark: number, bytes: Uint8Array): Uint8Array {
  const value = crc16(bytes, crc16(Uint8Array.of(mark), mfm ? MFM_PRESET : FM_PRESET));
  return Uint8Array.of(value >> 8, value & 0xff);
}

type SectorBytes = (sector: number) => Uint8Array;

function encodeBytes(form: TrackForm, fields: readonly Field[], data: SectorBytes): Cells {
  const mfm = form.code === "MFM";
  const gap = mfm ? 0x4e : 0xff;
  const writer = new ByteWriter(form.cells, mfm);
  const id = (sector: number) => Uint8Array.of(form.trackNumber, form.headNumber, sector, sizeCode(form.size));
  for (const { kind, sector = 0, length } of fields)
    switch (kind) {
      case "index sync":
      case "ID sync":
      case "data sync":
        writer.fill(0x00, length);
        break;
      case "index mark":
        writer.mark(MARK.index);
        break;
      case "ID mark":
        writer.mark(MARK.id);
        break;
      case "ID":
        writer.bytes(id(sector));
        break;
      case "ID check":
        writer.bytes(crcOf(mfm, MARK.id, id(sector)));
        break;
      case "data mark":
        writer.mark(MARK.data);
        break;
      case "data":
        writer.bytes(data(sector));
        break;
      case "data check":
        writer.bytes(crcOf(mfm, MARK.data, data(sector)));
        break;
      default:
        writer.fill(gap, length);
    }
  return { bits: writer.bits, length: form.cells };
}

/**
 * Header and data block of the zoned group code. On the disk the second ID byte stands first (from memory; the guide
 * prints them the other way round); readers don't care, as the checksum is the same.
 */
function encodeGroups(
  form: TrackForm,
  fields: readonly Field[],
  data: SectorBytes,
  diskId: readonly [number, number],
): Cells {
  const writer = new CellWriter(form.cells);
  const header = (sector: number) => Uint8Array.of(sector, form.trackNumber, diskId[1], diskId[0], 0x0f, 0x0f);
  for (const { kind, sector = 0, length } of fields)
    switch (kind) {
      case "ID sync":
      case "data sync":
        for (let left = length; left > 0; left -= 8) writer.put(0xff, 8);
        break;
      case "ID mark":
        putGroupCode(writer, Uint8Array.of(GROUP_MARK.header));
        break;
      case "ID check":
        putGroupCode(writer, Uint8Array.of(xorOf(header(sector), 0, 4)));
        break;
      case "ID":
        putGroupCode(writer, header(sector));
        break;
      case "data mark":
        putGroupCode(writer, Uint8Array.of(GROUP_MARK.data));
        break;
      case "data":
        putGroupCode(writer, data(sector));
        break;
      case "data check":
        putGroupCode(writer, Uint8Array.of(xorOf(data(sector)), 0, 0));
        break;
      default:
        for (let left = length; left > 0; left -= 8) writer.put(0x55, 8);
    }
  return writer.done(form.cells);
}

/**
 * One nominal turn of cells, from the index. `data` holds the track's sectors in the order of their numbers. Throws an
 * `InputError` where its length is wrong, or the layout is longer than the turn.
 */
export function encodeTrack(form: TrackForm, data: Uint8Array, options: EncodeOptions = {}): Cells {
  const wanted = form.sectors * form.size;
  if (data.length !== wanted)
    throw new InputError(
      "track-size",
      `Track ${form.track}, side ${form.side} takes ${wanted} bytes, not ${data.length}.`,
    );
  const fields = trackFields(form, sectorOrder(form, options.interleave));
  const over = -fields.at(-1)!.length;
  if (over > 0)
    throw new InputError(
      "track-full",
      `Track ${form.track}, side ${form.side} of “${form.recording}” is ${over} cells longer than a nominal turn of ${form.cells}.`,
    );
  const sectorBytes = (sector: number) => {
    const from = (sector - form.firstSector) * form.size;
    return data.subarray(from, from + form.size);
  };
  return form.code === "zoned 4-to-5 group code"
    ? encodeGroups(form, fields, sectorBytes, options.diskId ?? [0x30, 0x30])
    : encodeBytes(form, fields, sectorBytes);
}

/** The cells of one track, with its place on the disk. */
export interface TrackCells {
  track: number;
  side: 0 | 1;
  cells: Cells;
}

/** Every track of an image as cells, in the order of the image. Throws an `InputError` where the image has another size. */
export function encodeDisk(recording: Recording, image: Uint8Array, options: EncodeOptions = {}): TrackCells[] {
  const map = mapBlocks(recording.geometry);
  if (image.length !== map.bytes)
    throw new InputError(
      "image-size",
      `The image has ${image.length} bytes; a disk recorded as “${recording.id}” holds ${map.bytes}.`,
    );
  const tracks: TrackCells[] = [];
  for (let block = 0; block < map.blocks; ) {
    const { track, side } = map.place(block);
    const form = trackForm(recording, track, side);
    const from = map.offset(block);
    const data = image.subarray(from, from + form.sectors * form.size);
    tracks.push({ track, side, cells: encodeTrack(form, data, options) });
    block += form.sectors;
  }
  return tracks;
}
