import { describe, expect, it } from "vitest";
import { loadCatalogue } from "../catalogue/index.ts";
import { parseQuantity } from "../quantity/index.ts";
import { precompensation, trackBudget, transitionTimes } from "./budget.ts";
import { cellsFromText } from "./cells.ts";
import { trackForm } from "./form.ts";

const { recordings } = loadCatalogue();
const form = (id: string, track = 1, side: 0 | 1 = 0) => trackForm(recordings.get(id)!, track, side);

describe("trackBudget", () => {
  it("counts each kind of field once, with how often it comes", () => {
    const { rows, content } = trackBudget(form("ecma-54"));
    const row = (kind: string) => rows.find((each) => each.kind === kind)!;
    expect(row("gap after index")).toMatchObject({ times: 1, bytes: 26 });
    expect(row("data")).toMatchObject({ times: 26, bytes: 128 });
    // A byte of FM at 250 kbit/s takes 32 µs.
    expect(row("data").seconds * 1e6).toBeCloseTo(128 * 32, 6);
    expect(
      rows.filter(({ kind }) => kind !== "gap to index").reduce((sum, each) => sum + each.times * each.bytes, 0),
    ).toBe(content);
  });

  it("leaves less when the disk turns faster or the writer is slower", () => {
    const { left } = trackBudget(form("ecma-100"), {
      rotation: parseQuantity("300 rpm ± 1.5 %", "rotation"),
      writer: 0.005,
    });
    expect(left.map(({ condition }) => condition)).toEqual([
      "nominal",
      "slowest turn, fastest writer",
      "fastest turn, slowest writer",
      "2 % fast",
    ]);
    const [nominal, slow, fast] = left;
    expect(nominal!.bytesInTurn).toBeCloseTo(6250, 6);
    expect(slow!.bytesInTurn).toBeCloseTo((6250 * 1.005) / 0.985, 6);
    expect(fast!.bytesInTurn).toBeCloseTo((6250 * 0.995) / 1.015, 6);
    expect(slow!.bytesLeft).toBeGreaterThan(nominal!.bytesLeft);
    expect(fast!.bytesLeft).toBeLessThan(nominal!.bytesLeft);
  });

  it("takes ±2 % of a speed that comes without a tolerance, and says so", () => {
    const of = (text: string) => trackBudget(form("ecma-100"), { rotation: parseQuantity(text, "rotation") });
    const { left, assumed } = of("300 rpm");
    expect(assumed).toBe(true);
    expect(left[1]!.speed).toBeCloseTo(-0.02, 9);
    expect(left[2]!.speed).toBeCloseTo(0.02, 9);
    expect(of("300 rpm ± 1.5 %").assumed).toBe(false);
  });

  it("says that the early form with 20 sectors does not fit 2 % fast, and that the later one does", () => {
    const at = (id: string) => trackBudget(form(id, 20)).left.at(-1)!;
    expect(at("zoned-35-early").fits).toBe("no");
    expect(at("zoned-35").fits).toBe("yes");
  });

  it("counts on the last gap only as far as the last sector stays whole", () => {
    const fast = (id: string) => trackBudget(form(id)).left.at(-1)!;
    // 29 bytes over, of the 116 that follow the last sector; and 167 over, of 108.
    expect(fast("five-inch-two-side-80-5x1024")).toMatchObject({ fits: "tight" });
    expect(fast("ecma-125")).toMatchObject({ fits: "no" });
    expect(fast("ecma-125").bytesLeft).toBeCloseTo(12_500 / 1.02 - 12_422, 6);
  });

  it("lets a zoned drive spread what is left over the gaps after data", () => {
    const { content, left } = trackBudget(form("zoned-35", 0));
    expect(content).toBe(21 * 354);
    expect(left[0]!.bytesLeft).toBeCloseTo(7692.3 - 21 * 354, 0);
  });

  it("calls it tight below the 16 bytes that a controller wants before the index", () => {
    const { left } = trackBudget(form("five-inch-one-side-35-10x256"));
    expect(left.at(-1)).toMatchObject({ condition: "2 % fast", fits: "tight" });
    expect(left.at(-1)!.bytesLeft).toBeCloseTo(3125 / 1.02 - 3063, 6);
  });

  it("says where writing a sector again begins and ends", () => {
    for (const id of ["ecma-54", "ecma-100", "zoned-35"]) {
      const { rows } = trackBudget(form(id));
      expect(rows.filter(({ splice }) => splice).map(({ kind }) => kind)).toEqual(["gap after ID", "gap after data"]);
    }
  });
});

describe("precompensation", () => {
  it("is for MFM, and on 8-inch disks for the tracks beyond 43", () => {
    expect(precompensation(form("ecma-54"))).toBeUndefined();
    expect(precompensation(form("zoned-35"))).toBeUndefined();
    expect(precompensation(form("ecma-69"))).toMatchObject({ seconds: 200e-9, fromTrack: 44 });
    expect(precompensation(form("ecma-69", 0))).toBeUndefined();
    expect(precompensation(form("ecma-100"))).toMatchObject({ seconds: 125e-9, fromTrack: 0 });
  });

  it("writes a transition towards its nearer neighbour, and leaves one in the middle alone", () => {
    const cells = cellsFromText("0100 1001 0001 0010");
    const times = transitionTimes(cells.bits, cells.length, 1, 0.1);
    // At 1, 4, 7, 11, 14: equal gaps around 4; nearer before 7, nearer after 11; the ends stay.
    expect([...times].map((time) => time - 0.5)).toEqual([1, 4, 6.9, 11.1, 14].map((time) => expect.closeTo(time, 9)));
  });
});
