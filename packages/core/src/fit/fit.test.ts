import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { keysWithMeaning, readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { CHECKS } from "./checks/index.ts";
import { type Finding, fitChain, LINKS, type SurveyedImage } from "./index.ts";

const catalogue = loadCatalogue();

/** Findings of a bench, by id. */
function findings(text: string, images: readonly SurveyedImage[] = []): Map<string, Finding> {
  const { bench, issues } = readBench(`rouse: 1\nname: x\n${text}`, catalogue);
  if (!bench) throw new Error(issues.map((each) => `${each.line}: ${each.sentence}`).join("\n"));
  return new Map(fitChain({ bench, catalogue, images }).findings.map((each) => [each.id, each]));
}

describe("the frame", () => {
  it("has at least two checks a link, each with an id of its own", () => {
    for (const link of LINKS)
      expect(CHECKS.filter((each) => each.link === link).length, link).toBeGreaterThanOrEqual(2);
    expect(new Set(CHECKS.map((each) => each.id)).size).toBe(CHECKS.length);
  });

  it("has each check on its page", () => {
    const page = readFileSync(new URL("../../../../docs/chain.md", import.meta.url), "utf8");
    for (const { id, formula } of CHECKS) {
      expect(page).toContain(`**\`${id}\`**`);
      if (formula) expect(page).toContain(formula);
    }
  });

  it("calls a link that nothing could judge unknown, never good", () => {
    const { bench } = readBench("rouse: 1\nname: x\n", catalogue);
    const chain = fitChain({ bench: bench!, catalogue, images: [] });
    expect(chain.verdict).toBe("unknown");
    expect(chain.links.map((each) => each.verdict)).toEqual(LINKS.map(() => "unknown"));
    // Each key is one that a bench file may have.
    for (const { link, missing } of chain.links) {
      expect(missing?.length, link).toBeGreaterThan(0);
      for (const key of missing!) {
        const path = key.split(".");
        expect(keysWithMeaning(path.slice(0, -1)).map((each) => each.key)).toContain(path.at(-1));
      }
    }
  });

  it("never says that a chain or a link works, however tightly, while something in it is unknown", () => {
    const tight = "limit: 1 A }, +12 V: {} }";
    const { bench } = readBench(
      `rouse: 1\nname: x\ncomputer: { boards: { b: { chips: [{ part: 74LS244, count: 18 }, { part: MC1488 }] } }, supply: { +5 V: { ${tight} }\n`,
      catalogue,
    );
    const chain = fitChain({ bench: bench!, catalogue, images: [] });
    const board = chain.links.find((each) => each.link === "board")!;
    expect(board.findings.map((each) => each.verdict)).toEqual(expect.arrayContaining(["tight", "unknown"]));
    expect(board.findings[0]!.verdict).toBe("tight");
    expect(board.verdict).toBe("unknown");
    expect(chain.verdict).toBe("unknown");
  });

  it("gives every finding an id of its own, also where a check speaks of one thing twice", () => {
    const { bench } = readBench("rouse: 1\nname: x\nimages: { i: { file: images/i } }\n", catalogue);
    const need = (instructionSet: "Z80" | "8080") =>
      ({ kind: "cpu", instructionSet, runsOn: ["Z80"], evidence: [] }) as const;
    const images = [{ name: "i", size: 0, needs: [need("Z80"), need("8080")] }];
    const ids = fitChain({ bench: bench!, catalogue, images }).findings.map((each) => each.id);
    expect(ids).toEqual(expect.arrayContaining(["system-cpu/i", "system-cpu/i (2)"]));
    expect(new Set(ids).size).toBe(ids.length);
  });

  it("names what would settle each unknown, and what to do about each stop", () => {
    const all = [
      ...findings(
        "drives: { d: {} }\nmedia: { m: {} }\nimages: { i: { file: images/i, drive: d, medium: m } }\nports: { p: { connector: DB-25 } }\nterminals: { t: { connector: DB-25 } }\ncables: { c: { from: p, to: t, kind: straight } }\ncomputer: { cpu: {}, boards: { b: { chips: [{ part: 74LS999 }] } }, supply: { +5 V: { limit: 1 A } } }",
      ).values(),
    ];
    const unknowns = all.filter((each) => each.verdict === "unknown");
    expect(unknowns.length).toBeGreaterThan(8);
    for (const each of unknowns) expect(each.missing?.length, each.id).toBeGreaterThan(0);
    for (const each of all.filter((one) => one.verdict === "stops" || one.verdict === "tight"))
      expect(each.remedy, each.id).toBeTruthy();
  });
});

describe("supply", () => {
  const board = (extra: string) =>
    `computer:\n  boards:\n    main: { chips: [{ part: 74LS244, count: 10 }] }\n    new: { added: true, chips: [{ part: 74LS245, count: 4 }] }\n  supply: { +5 V: { voltage: 5 V ± 5 %, ${extra} } }`;

  it("adds the greatest currents and keeps a fifth in reserve", () => {
    // 10 × 54 mA + 4 × 95 mA = 920 mA (values of the catalogue).
    expect(findings(board("limit: 2 A")).get("supply-current/+5 V")).toMatchObject({
      verdict: "runs",
      result: "920 mA of 2 A",
      margin: "1.08 A",
    });
    expect(findings(board("limit: 1 A")).get("supply-current/+5 V")).toMatchObject({
      verdict: "tight",
      margin: "80 mA",
    });
    expect(findings(board("limit: 900 mA")).get("supply-current/+5 V")).toMatchObject({ verdict: "stops" });
  });

  it("says what the added board changes", () => {
    expect(findings(board("limit: 1 A")).get("supply-current/+5 V")!.sentence).toContain(
      "540 mA without the added board",
    );
  });

  it("is unknown where a chip's current is not known, however good the rest looks", () => {
    const found = findings(
      "computer: { boards: { b: { chips: [{ part: 74LS999 }, { part: 74LS244 }] } }, supply: { +5 V: { limit: 3 A } } }",
    );
    expect(found.get("supply-current/+5 V")).toMatchObject({
      verdict: "unknown",
      missing: ["computer.boards.b.chips.0"],
    });
  });

  it("takes a stated current before the sum over the chips", () => {
    const found = findings(
      "computer: { boards: { b: { draws: { +5 V: 750 mA ± 10 % } } }, supply: { +5 V: { limit: 1 A } } }",
    );
    expect(found.get("supply-current/+5 V")).toMatchObject({ verdict: "tight", result: "825 mA of 1 A" });
  });
});

describe("regulator", () => {
  const bench = (sink: string) =>
    `computer:\n  boards: { b: { draws: { +5 V: 1 A } } }\n  supply:\n    +5 V: { limit: 1.5 A, regulator: { part: 7805, input: 9 V, ambient: 40 °C${sink} } }`;

  it("reproduces the worked example: 9 V in, 1 A, 10 °C/W gives 102 °C", () => {
    // 7805 data sheets: junction to case 5 °C/W; 40 + 4 W × (5 + 0.5 + 10) = 102 °C.
    expect(findings(bench(", heatSink: 10 °C/W")).get("regulator-heat/+5 V")!.result).toBe(
      "102 °C at the junction, 4 W of heat",
    );
  });

  it("stops a regulator without a heat sink", () => {
    // The same sheets: junction to air 65 °C/W; far above 125 °C.
    expect(findings(bench("")).get("regulator-heat/+5 V")).toMatchObject({ verdict: "stops" });
  });
});

describe("bus", () => {
  const bus = (devices: string, cables: string) =>
    `buses: { b: { kind: IEEE 488, devices: { ${devices} }, cables: [${cables}] } }`;

  it("allows 2 m a device and 20 m in all (IEEE 488.1)", () => {
    expect(
      findings(bus("a: { address: 0 }, b: { address: 8 }", "{ length: 2 m }, { length: 2 m }")).get("bus-length/b"),
    ).toMatchObject({ verdict: "runs" });
    expect(
      findings(bus("a: { address: 0 }, b: { address: 8 }", "{ length: 3 m }, { length: 2 m }")).get("bus-length/b"),
    ).toMatchObject({ verdict: "tight" });
    const many = Array.from({ length: 14 }, (_, i) => `d${i}: { address: ${i} }`).join(", ");
    expect(
      findings(bus(many, Array.from({ length: 11 }, () => "{ length: 2 m }").join(", "))).get("bus-length/b"),
    ).toMatchObject({ verdict: "stops" });
  });

  it("finds two devices with one address and an address that the bus keeps for itself", () => {
    expect(findings(bus("a: { address: 8 }, b: { address: 8 }", "{ length: 1 m }")).get("bus-address/b")).toMatchObject(
      { verdict: "stops" },
    );
    expect(
      findings(bus("a: { address: 31 }, b: { address: 8 }", "{ length: 1 m }")).get("bus-address/b"),
    ).toMatchObject({ verdict: "stops" });
    expect(
      findings(bus("a: { address: 0 }, b: { address: 30 }", "{ length: 1 m }")).get("bus-address/b"),
    ).toMatchObject({ verdict: "runs" });
  });

  it("tells drives on a cable of wires apart by their select lines", () => {
    const drives = (one: number, other: number) =>
      `buses: { b: { kind: 34-wire drive bus } }\ndrives: { x: { bus: b, unit: ${one} }, y: { bus: b, unit: ${other} } }`;
    expect(findings(drives(0, 0)).get("bus-address/b")).toMatchObject({ verdict: "stops" });
    expect(findings(drives(0, 1)).get("bus-address/b")).toMatchObject({ verdict: "runs" });
  });
});

describe("memory", () => {
  const map = (regions: string) => findings(`computer: { memory: { ${regions} } }`);

  it("finds two regions that answer one address", () => {
    const found = map("a: { kind: ram, at: $0000, size: 32 KiB }, b: { kind: rom, at: $7000, size: 8 KiB }").get(
      "memory-map",
    );
    expect(found).toMatchObject({ verdict: "stops" });
    expect(found!.sentence).toContain("$7000–$7FFF");
  });

  it("lets RAM lie under ROM where the bench says so", () => {
    expect(
      map("a: { kind: ram, at: $0000, size: 64 KiB }, b: { kind: rom, at: $E000, size: 8 KiB, under: true }").get(
        "memory-map",
      ),
    ).toMatchObject({ verdict: "runs" });
  });

  it("counts banks: a latch of two bits reaches four of eight", () => {
    const window = (bits: number) =>
      `w: { kind: window, at: $C000, size: 8 KiB, banks: 8, latch: { at: $FF00, bits: ${bits} } }`;
    expect(map(window(2)).get("memory-banks/w")).toMatchObject({
      verdict: "stops",
      result: "4 of 8 banks within reach",
    });
    expect(map(window(3)).get("memory-banks/w")).toMatchObject({ verdict: "runs" });
  });
});

describe("line", () => {
  const line = (port: string, terminal: string, cable = "kind: null modem") =>
    findings(
      `ports: { p: { uart: MC6850, clock: 1.8432 MHz, connector: DB-25, role: DTE, ${port} } }\nterminals: { t: { class: screen-80-cursor, connector: DB-25, role: DTE, ${terminal} } }\ncables: { c: { from: p, to: t, ${cable} } }`,
    );

  it("stops a line whose ends are set to different rates", () => {
    const found = line("divide: 96, ratio: 16, format: 8N1", "rate: 2400 bit/s, format: 8N1").get("port-rate/p");
    expect(found).toMatchObject({ verdict: "stops" });
    expect(found!.remedy).toContain("1,200 bit/s");
  });

  it("runs a line whose ends agree, with the margin in percent of a bit", () => {
    const found = line("divide: 48, ratio: 16, format: 8N1", "rate: 2400 bit/s, format: 8N1").get("port-rate/p");
    expect(found).toMatchObject({ verdict: "runs" });
    // Half a bit less a sixteenth, less 0.2 % over 9.5 bits: 43.75 − 1.904 = 41.8 %.
    expect(found!.margin).toBe("41.8 % of a bit");
  });

  it("warns above what data sheets advise and stops above the limit of 4.6 %", () => {
    const off = (percent: string) =>
      line("divide: 48, ratio: 16, format: 8N1", `rate: ${percent} bit/s, rateError: 0 %, format: 8N1`).get(
        "port-rate/p",
      )!.verdict;
    expect(off("2360")).toBe("runs"); // +1.7 %
    expect(off("2330")).toBe("tight"); // +3.0 %
    expect(off("2290")).toBe("stops"); // +4.8 %
  });

  it("stops differing data bits or parity, and only warns of differing stop bits", () => {
    expect(line("format: 8N1", "format: 7E1").get("port-framing/p")).toMatchObject({ verdict: "stops" });
    expect(line("format: 8N1", "format: 8N2").get("port-framing/p")).toMatchObject({ verdict: "tight" });
    expect(line("format: 7E1", "format: 7E1").get("port-framing/p")).toMatchObject({ verdict: "runs" });
  });

  it("calls V.28 into a TTL input a hazard, with a caution", () => {
    const found = line("levels: TTL 5 V", "levels: V.28").get("cable-levels/c");
    expect(found).toMatchObject({ verdict: "stops" });
    expect(found!.caution).toContain("destroy p");
  });

  it("says what to do about the problem that a cable has", () => {
    const remedy = (terminal: string, cable: string) =>
      line("levels: V.28", `levels: V.28, ${terminal}`, cable).get("cable-nets/c")!.remedy;
    const crossed = "kind: wired, wires: [[2, 3], [3, 2]";
    expect(remedy("handshake: none", `${crossed}, [7, 7]]`)).toMatch(/^Join CTS to .* RTS by a jumper/);
    expect(remedy("handshake: none", `${crossed}, [4, 5], [5, 4]]`)).toMatch(/^Wire signal ground/);
    expect(remedy("handshake: lines", `${crossed}, [4, 4], [5, 4], [7, 7]]`)).toMatch(/crossed cable/);
    expect(remedy("handshake: lines", `${crossed}, [7, 7]], jumpersFrom: [[4, 5]]`)).toMatch(/^Use a null modem/);
  });

  it("tells garbage, where a terminal knows no control functions, from those that are passed over", () => {
    const image = {
      name: "i",
      size: 0,
      needs: [
        {
          kind: "controls",
          functions: [
            { name: "CUP", times: 2 },
            { name: "EL", times: 1 },
          ],
          evidence: [],
        },
      ],
    } as const;
    const told = (controls: string) =>
      findings(`terminals: { t: { class: screen-80-cursor, controls: ${controls} } }`, [image]).get(
        "terminal-controls/t",
      )!.sentence;
    expect(told("[]")).toContain("use CUP, EL, which t lacks: the audience would see garbage in their place.");
    expect(told("[CUP]")).toContain("use EL, which t lacks: nothing happens where it stands.");
  });

  it("holds a cable to 2,500 pF", () => {
    const found = (length: string) =>
      line("levels: V.28", "levels: V.28", `kind: null modem, length: ${length}, capacitance: 100 pF`).get(
        "cable-capacitance/c",
      );
    expect(found("20 m")).toMatchObject({ verdict: "runs", result: "2 nF of 2,500 pF" });
    expect(found("30 m")).toMatchObject({ verdict: "tight" });
  });

  it("tells which end loses characters while it is away, and what would help", () => {
    const at = (port: string, terminal = "") =>
      line(`divide: 48, ratio: 16, format: 8N1, ${port}`, `rate: 2400 bit/s, format: 8N1, ${terminal}`);
    // 4.17 ms a character; the 6850 holds one.
    expect(at("away: 3 ms").get("port-overrun/p")).toMatchObject({
      verdict: "runs",
      sentence: expect.stringContaining("keeps the one character that may arrive"),
    });
    expect(at("away: 20 ms").get("port-overrun/p")).toMatchObject({
      verdict: "tight",
      result: "5 arrive, 1 are kept",
    });
    expect(at("away: 20 ms, buffer: 64").get("port-overrun/p")).toMatchObject({ verdict: "runs" });
    const scrolling = "away: 50 ms, buffer: 4";
    expect(at("handshake: none", scrolling).get("port-overrun/t")).toMatchObject({ verdict: "stops" });
    expect(at("handshake: characters", `${scrolling}, handshake: characters`).get("port-overrun/t")).toMatchObject({
      verdict: "runs",
    });
    expect(at("handshake: characters", `${scrolling}, handshake: none`).get("port-overrun/t")).toMatchObject({
      verdict: "stops",
    });
    expect(at("handshake: none", "away: 50 ms").get("port-overrun/t")).toMatchObject({
      verdict: "unknown",
      missing: ["terminals.t.buffer"],
    });
    expect([...at("handshake: none").keys()].filter((id) => id.startsWith("port-overrun"))).toEqual([]);
  });

  it("holds the edges of a cable to 4 % of a bit", () => {
    // 6 V × 2 nF ÷ 10 mA = 1.2 µs: 0.29 % of a bit at 2,400 bit/s, 13.8 % at 115,200.
    const edge = (divide: number, rate: string) =>
      line(
        `divide: ${divide}, ratio: 16, format: 8N1, levels: V.28`,
        `rate: ${rate}, format: 8N1, levels: V.28`,
        "kind: null modem, length: 20 m, capacitance: 100 pF",
      ).get("cable-edge/c");
    expect(edge(48, "2400 bit/s")).toMatchObject({ verdict: "runs", result: "0.288 % of a bit" });
    expect(edge(1, "115200 bit/s")).toMatchObject({ verdict: "tight", result: "13.8 % of a bit" });
  });

  it("works out how long a full screen takes", () => {
    // 80 × 24 characters at 240 a second: 8 s.
    const found = line(
      "divide: 48, ratio: 16, format: 8N1",
      "rate: 2400 bit/s, format: 8N1, columns: 80, rows: 24",
    ).get("screen-fill/t");
    expect(found).toMatchObject({ verdict: "runs", result: "8 s" });
  });
});

describe("disk", () => {
  const disk = (drive: string, medium: string, recording: string) =>
    findings(
      `drives: { d: { class: ${drive} } }\nmedia: { m: { class: ${medium} } }\nimages: { i: { file: images/i, drive: d, medium: m, recording: ${recording} } }`,
    );

  it("finds that a two-sided image does not fit a one-sided drive", () => {
    const found = disk("zoned-77-track-one-side", "five-inch-100", "zoned-77-two-side").get("drive-sides/i");
    expect(found).toMatchObject({ verdict: "stops", result: "2,083 of 4,166 blocks within reach" });
  });

  it("finds a recording that the drive's electronics cannot read", () => {
    expect(
      disk("eight-inch-one-side-fm", "eight-inch-one-side", "eight-inch-one-side-26x256").get("drive-recording/i"),
    ).toMatchObject({ verdict: "stops" });
    expect(disk("eight-inch-one-side-fm", "eight-inch-one-side", "ecma-54").get("drive-recording/i")).toMatchObject({
      verdict: "runs",
    });
  });

  it("finds a high-coercivity medium in a drive that cannot write it", () => {
    expect(disk("five-inch-40-track-two-side", "five-inch-high", "ecma-70").get("medium-drive/i")).toMatchObject({
      verdict: "stops",
    });
    expect(disk("five-inch-40-track-two-side", "eight-inch-two-side", "ecma-70").get("medium-drive/i")).toMatchObject({
      verdict: "stops",
    });
  });
});

describe("audience", () => {
  it("asks for 16 minutes of arc a letter", () => {
    // 2 × arctan(0.0175 ÷ 6) = 20.05 minutes at 3 m for 17.5 mm.
    const show = (height: string) =>
      findings(`terminals: { t: { characterHeight: ${height} } }\nshow: { terminal: t, distance: 3 m }`).get(
        "legibility",
      );
    expect(show("17.5 mm")).toMatchObject({ verdict: "runs", result: "20.1 minutes of arc" });
    expect(show("15 mm")).toMatchObject({ verdict: "tight" });
    expect(show("10 mm")).toMatchObject({ verdict: "stops" });
  });
});
