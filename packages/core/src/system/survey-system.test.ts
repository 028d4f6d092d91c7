import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../bytes/index.ts";
import { bootFile, code, configurationModule, handVolume, together } from "./hand-made.ts";
import { MODULE_TYPE } from "./module.ts";
import { needsOf } from "./needs.ts";
import { inspectSystem, type SystemReport } from "./survey-system.ts";

const state = (report: SystemReport, role: string, name: string): string | undefined =>
  report.asks.find((each) => each.role === role && each.name === name)?.state;

const damaged = (module: Uint8Array): Uint8Array => {
  const broken = module.slice();
  broken[30]! ^= 1;
  return broken;
};

const system = () =>
  handVolume(
    "segment-list",
    {
      readme: asciiBytes("Welcome.\r"),
      boot: bootFile(),
      startup: asciiBytes("* opening day\rclock t\rlost\rworn\rload tools\rlist >/p\r"),
      "sys/accounts": asciiBytes("guide,lantern,0,128,cmds,home,shell\r"),
      "cmds/clock": code("clock", { storage: 600 }),
      "cmds/worn": damaged(code("worn")),
      "cmds/tools": together(code("tools"), code("serial", { type: MODULE_TYPE.driver })),
      "cmds/list": code("list"),
      "cmds/load": code("load"),
      "cmds/shell": code("shell", { storage: 1000 }),
    },
    { facts: [["Bootstrap", "700 bytes from sector 3 (hex 000003), 3 sectors"]] },
  );

describe("inspectSystem", () => {
  it("finds the boot file where the volume places its bootstrap, and every module with its place", () => {
    const report = inspectSystem(system());
    expect(report.boot).toMatchObject({ file: "boot", how: expect.stringContaining("block 3") });
    expect(report.modules.filter((each) => each.path === "boot").map((each) => each.name)).toEqual([
      "kernel",
      "Setup",
      "loader",
      "blocks",
      "chars",
      "floppy",
      "D0",
      "TERM",
      "first",
    ]);
    expect(report.modules.find((each) => each.name === "serial")).toMatchObject({
      path: "cmds/tools",
      offset: expect.any(Number),
    });
  });

  it("takes the file with the most system modules where the volume places no bootstrap", () => {
    const report = inspectSystem({ ...system(), facts: [] });
    expect(report.boot).toMatchObject({ file: "boot", how: expect.stringContaining("most system modules") });
  });

  it("reads the configuration: what it asks for at boot, and the top of memory", () => {
    const { boot } = inspectSystem(system());
    expect(boot.configuration).toMatchObject({ topOfMemory: 0xf7ff, interruptEntries: 12, deviceEntries: 20 });
    expect(boot.configuration!.asks.map((each) => [each.role, each.name])).toEqual([
      ["start module", "first"],
      ["default disk", "/D0"],
      ["first terminal", "/TERM"],
      ["bootstrap module", "loader"],
    ]);
  });

  it("reads a shorter configuration, where the bootstrap module follows the disk", () => {
    const boot = configurationModule(0, ["first", "/D0", "loader"]);
    expect(inspectSystem(handVolume("segment-list", { boot })).boot.configuration!.asks).toMatchObject([
      { role: "start module", name: "first" },
      { role: "default disk", name: "/D0" },
      { role: "bootstrap module", name: "loader" },
    ]);
  });

  it("takes no other system module for a configuration", () => {
    const kernel = code("kernel", { type: MODULE_TYPE.system });
    const nameless = configurationModule(0, []);
    expect(inspectSystem(handVolume("segment-list", { kernel, nameless })).boot.configuration).toBeUndefined();
  });

  it("tells what is ready, not loaded, damaged and missing, and who asks", () => {
    const report = inspectSystem(system());
    expect(state(report, "start module", "first")).toBe("ready");
    expect(state(report, "first terminal", "TERM")).toBe("ready");
    expect(state(report, "driver", "floppy")).toBe("ready");
    expect(state(report, "driver", "serial")).toBe("not loaded");
    expect(state(report, "command", "clock")).toBe("ready");
    expect(state(report, "command", "worn")).toBe("damaged");
    expect(state(report, "command", "lost")).toBe("missing");
    expect(state(report, "device", "p")).toBe("missing");
    expect(state(report, "login program", "shell")).toBe("ready");
    expect(report.asks.find((each) => each.name === "lost")!.by).toEqual([
      { file: "startup", offset: 22, text: "line 3: lost" },
    ]);
    expect(report.asks.find((each) => each.name === "serial")!.by[0]!.text).toBe("device descriptor TERM");
  });

  it("counts modules of a ROM beside the volume as loaded", () => {
    const rom = together(new Uint8Array(64).fill(0xff), code("serial", { type: MODULE_TYPE.driver }));
    const report = inspectSystem(system(), [{ path: "rom", bytes: rom }]);
    expect(report.asks.find((each) => each.name === "serial")).toMatchObject({
      state: "ready",
      found: { file: "rom", offset: 64 },
    });
  });

  it("gives no password, in the report or in the needs", () => {
    const volume = system();
    const report = inspectSystem(volume);
    expect(report.accounts[0]!.accounts[0]).toMatchObject({ name: "guide", passwordSet: true });
    expect(JSON.stringify([report, needsOf(report, volume)])).not.toContain("lantern");
  });

  it("passes over deleted files", () => {
    const volume = system();
    const entries = volume.entries.map((each) => ({ ...each, deleted: each.path === "cmds/clock" }));
    expect(state(inspectSystem({ ...volume, entries }), "command", "clock")).toBe("missing");
  });

  it("reads programs and command lists of the other kinds of volume", () => {
    const extent = handVolume("extent-entry", {
      "0/CLOCK.COM": Uint8Array.of(0xc3, 0, 1),
      "0/OPEN.SUB": asciiBytes("CLOCK NOW\r\nLOST\r\n\x1a"),
    });
    const report = inspectSystem(extent);
    expect(report.programs).toEqual([expect.objectContaining({ path: "0/CLOCK.COM", loadAt: 0x100, size: 3 })]);
    expect(report.systemBlocks).toBe(2);
    expect([state(report, "command", "CLOCK"), state(report, "command", "LOST")]).toEqual(["ready", "missing"]);
    const chained = handVolume("chained-block", {
      first: { bytes: Uint8Array.of(1, 4, 9, 9), kind: "program" },
      notes: { bytes: Uint8Array.of(1, 4, 9, 9), kind: "sequential" },
    });
    expect(inspectSystem(chained).programs).toEqual([
      expect.objectContaining({ path: "first", loadAt: 0x401, last: 0x402 }),
    ]);
  });

  it("leaves files unread that would read the image over and over, and says how many", () => {
    const volume = handVolume("fat12", { big: new Uint8Array(180_000) });
    const entries = Array.from({ length: 1000 }, (_, i) => ({ ...volume.entries[0]!, path: `big~${i}` }));
    let read = 0;
    const crossed = { ...volume, entries, read: () => ({ ...volume.read(volume.entries[0]!), count: read++ }) };
    expect(inspectSystem(crossed).unread).toBe(996);
    expect(read).toBe(4);
  });

  it("gives plain data that survives JSON", () => {
    const report = inspectSystem(system());
    expect(JSON.parse(JSON.stringify(report))).toEqual(report);
  });

  it("lets no control character through from names", () => {
    const report = inspectSystem(handVolume("segment-list", { "a\x1b[2Jb": code("x") }));
    expect(report.modules[0]!.path).toBe("a\\x1B[2Jb");
  });

  it("takes any bytes in any file, and mutated systems", () => {
    const good = bootFile();
    const changes = fc.array(fc.tuple(fc.nat(good.length - 1), fc.nat(255)), { maxLength: 20 });
    const kinds = fc.constantFrom("segment-list", "extent-entry", "chained-block", "fat12" as const);
    fc.assert(
      fc.property(kinds, changes, fc.uint8Array({ maxLength: 600 }), (kind, list, noise) => {
        const boot = good.slice();
        for (const [at, value] of list) boot[at] = value;
        const program = { bytes: noise, kind: "program" };
        const volume = handVolume(kind, { boot, noise, startup: noise, "0/N.COM": noise, "0/S.SUB": noise, program });
        const report = inspectSystem(volume);
        const told = JSON.stringify([report, needsOf(report, volume)]);
        expect(told).toMatch(/^[\x20-\x7e\u00a0-\uffff]*$/);
      }),
      { seed: 6809, numRuns: 300 },
    );
  });
});
