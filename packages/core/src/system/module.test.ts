import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { bodyOffset, buildModule, findModules, MODULE_TYPE, readModule } from "./module.ts";

const joined = (...parts: Uint8Array[]): Uint8Array => Uint8Array.from(parts.flatMap((part) => [...part]));
const program = (name: string, length = 40, storage = 256): Uint8Array =>
  buildModule({
    name,
    type: MODULE_TYPE.program,
    edition: 7,
    storage,
    body: Uint8Array.from({ length }, (_, i) => (i * 37) & 0xff),
  });
const codes = (faults: readonly { code: string }[]): string[] => faults.map((each) => each.code);

const plan = fc.record({
  name: fc.stringMatching(/^[A-Za-z][A-Za-z0-9_.]{0,28}$/),
  type: fc.constantFrom(1, 2, 3, 4, 0xc, 0xd, 0xe),
  attributes: fc.integer({ min: 0, max: 15 }),
  revision: fc.integer({ min: 0, max: 15 }),
  edition: fc.integer({ min: 0, max: 255 }),
  storage: fc.integer({ min: 0, max: 65535 }),
  body: fc.uint8Array({ minLength: 1, maxLength: 300 }),
});

describe("buildModule and readModule", () => {
  it("give back every field of any module", () => {
    fc.assert(
      fc.property(plan, (wish) => {
        const bytes = buildModule(wish);
        const found = readModule(bytes, 0);
        expect(found).toMatchObject({
          offset: 0,
          size: bytes.length,
          name: wish.name,
          type: wish.type,
          attributes: wish.attributes,
          revision: wish.revision,
          reentrant: wish.attributes > 7,
          faults: [],
        });
        if (wish.type === MODULE_TYPE.data) expect(found.entry).toBeUndefined();
        else expect(found).toMatchObject({ entry: bodyOffset(wish), storage: wish.storage, edition: wish.edition });
      }),
      { seed: 6809 },
    );
  });

  it("tell any single damaged byte", () => {
    const bytes = program("lamp");
    for (let at = 0; at < bytes.length; at++)
      for (const flip of [1, 0x80, 0xff]) {
        const broken = bytes.slice();
        broken[at]! ^= flip;
        expect(readModule(broken, 0).faults.length, `byte ${at}`).toBeGreaterThan(0);
      }
  });

  it("never throw anything but a FormatError on arbitrary bytes", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), fc.nat(220), (bytes, at) => {
        if (at + 12 <= bytes.length) expect(readModule(bytes, at).offset).toBe(at);
        else expect(() => readModule(bytes, at)).toThrow(/at least 12 bytes/);
      }),
      { seed: 6809 },
    );
  });

  it("show a name without control characters", () => {
    const bytes = program("lamp");
    bytes.set([0x1b, 0x5b, 0x32, 0xca], 13);
    expect(readModule(bytes, 0).name).toBe(".[2J");
  });
});

describe("findModules", () => {
  it("finds modules packed end to end, in order", () => {
    const bytes = joined(program("one"), program("two", 100), program("three", 5));
    expect(findModules(bytes).map((each) => [each.name, each.faults.length])).toEqual([
      ["one", 0],
      ["two", 0],
      ["three", 0],
    ]);
  });

  it("finds modules in a ROM image between other bytes", () => {
    const rom = new Uint8Array(4096).fill(0xff);
    rom.set(program("kernel"), 100);
    rom.set(program("clock"), 2000);
    expect(findModules(rom).map((each) => [each.name, each.offset])).toEqual([
      ["kernel", 100],
      ["clock", 2000],
    ]);
  });

  it.each([
    ["a sync byte", 0, ["sync", "header-parity", "crc"]],
    ["a size byte", 3, ["header-parity", "crc"]],
    ["the type", 6, ["header-parity", "crc"]],
    ["the parity", 8, ["header-parity", "crc"]],
    ["a body byte", 40, ["crc"]],
    ["the CRC", -1, ["crc"]],
  ])("lists a module damaged in %s among good ones", (_, at, faults) => {
    const middle = program("middle", 60);
    middle[at < 0 ? middle.length + at : at]! ^= 0x04;
    const found = findModules(joined(program("before"), middle, program("after")));
    expect(found.map((each) => each.name)).toEqual(["before", "middle", "after"]);
    expect(codes(found[1]!.faults)).toEqual(faults);
    expect(found[0]!.faults).toEqual([]);
    expect(found[2]!.faults).toEqual([]);
  });

  it("tells a last module that the file's end cuts short", () => {
    const bytes = joined(program("whole"), program("cut", 200)).slice(0, 160);
    expect(findModules(bytes).map((each) => [each.name, codes(each.faults)])).toEqual([
      ["whole", []],
      ["cut", ["cut-short"]],
    ]);
  });

  it("passes over sync bytes that stand in other data by chance", () => {
    const bytes = new Uint8Array(5000).fill(0x20);
    bytes.set([0x87, 0xcd], 1234);
    expect(findModules(bytes)).toEqual([]);
  });

  it("takes any bytes, and finds a good module wherever it stands after them", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), (noise) => {
        const bytes = joined(noise, program("found"), new Uint8Array(20));
        expect(findModules(bytes).some((each) => each.name === "found" && each.offset === noise.length)).toBe(true);
      }),
      { seed: 6809, numRuns: 500 },
    );
  });

  it("never lists the same place twice, and goes forward, on mutated boot files", () => {
    const good = joined(program("one"), program("two"), program("three"), program("four"));
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(good.length - 1), fc.nat(255)), { maxLength: 12 }), (changes) => {
        const bytes = good.slice();
        for (const [at, value] of changes) bytes[at] = value;
        const offsets = findModules(bytes).map((each) => each.offset);
        expect(offsets).toEqual([...new Set(offsets)].sort((a, b) => a - b));
      }),
      { seed: 6809, numRuns: 1000 },
    );
  });

  it("stays quick on an image made of nothing but damaged headers", () => {
    const header = program("x", 60_000).slice(0, 14);
    const bytes = Uint8Array.from({ length: 1_200_000 }, (_, i) => header[i % 14]!);
    const started = performance.now();
    const found = findModules(bytes);
    expect(performance.now() - started).toBeLessThan(2000);
    expect(found.length).toBeLessThanOrEqual(512);
  });
});
