import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { makePrograms, runPlainly } from "@rouse/core/diagnose";
import { memoryMapOf, packMemory } from "@rouse/core/memory";
import { cleanup, render, screen } from "@testing-library/react";
import { userEvent } from "@testing-library/user-event";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { SuspectsDrawn } from "./board-drawn.tsx";
import { Choose, usualWish } from "./choose.tsx";
import { choicesOf, makeForms, readThrough, runThrough } from "./make.ts";
import { findingWords } from "./results.tsx";
import { TypeIn } from "./type-in.tsx";
import type { Wish } from "./types.ts";
import { keepWish, wishOf } from "./wishes.ts";

beforeEach(() => localStorage.clear());
afterEach(() => {
  cleanup();
  vi.unstubAllGlobals();
});

const { bench } = readBench(
  `rouse: 1
name: x
computer:
  name: x
  cpu: { part: MC6809E, clock: 1 MHz }
  memory:
    main: { kind: ram, at: $0000, size: 1 KiB, chips: 2114, board: main board, places: [U1, U2] }
    monitor: { kind: rom, at: $F000, size: 4 KiB, chips: 2732 }
    ports: { kind: io, at: $E000, size: 2 bytes }
  boards: { main board: {} }
ports: { console: { uart: MC6850, at: $E000, clock: 1.8432 MHz, divide: 12, ratio: 16, format: 8N1 } }
`,
  loadCatalogue(),
);
const ground = { bench: bench!, roms: new Map<string, Uint8Array>() };
const map = memoryMapOf(bench!)!;
const wish: Wish = { tests: ["march-c-"], over: ["main"], place: "eprom" };
/** What the program prints with the chip at U2 never giving anything but ones. */
const [program] = makePrograms(bench!, wish);
const U2_ALWAYS_ONE = {
  on: "lines",
  part: "main",
  fault: { kind: "data", bits: 0xf0, value: 1 },
  within: { from: 0, to: 1023 },
} as const;
const printed = runPlainly(map, program!, U2_ALWAYS_ONE, 60_000_000).report;

describe("the programs", () => {
  it("are made in every form, for an EPROM of the wished size", () => {
    const [made] = makeForms(ground, { ...wish, eprom: 8192 });
    expect(made!.id).toBe(program!.id);
    const sizes = Object.fromEntries(
      made!.files.map(({ name, content }) => [name.replace(/^.*\./, ""), content.length]),
    );
    expect(Object.keys(sizes)).toEqual(["asm", "lst", "srec", "hex", "rom"]);
    expect(sizes.rom).toBe(8192);
    expect(made!.typeIns.hex).toMatch(/^[0-9A-F]{4} {2}([0-9A-F]{2} )+/);
    expect(made!.typeIns.data).toContain("DATA");
    expect(made!.tests[0]).toMatchObject({ letter: "A", title: "March C− over main memory", bytes: 1024 });
    expect(() => makeForms(ground, { ...wish, tests: [] })).toThrow("Choose one test at least.");
  });

  it("run through on the bench as it is described", () => {
    const ran = runThrough(ground, wish, 0);
    expect(ran).toMatchObject({ ended: true });
    expect(ran.text).toContain("END GOOD");
    expect(ran.seconds).toBeCloseTo(ran.cycles / 1e6, 9);
    expect(() => runThrough(ground, wish, 7)).toThrow("no such program");
  });
});

describe("a report", () => {
  it("names the part, and what to measure next", () => {
    const { isOwn, ranked, next, report } = readThrough(ground, wish, printed.toLowerCase());
    expect(isOwn).toBe(true);
    expect(report.end).toBe("bad");
    expect(ranked[0]!.suspect).toMatchObject({ place: "U2", kind: "chip", board: "main board" });
    expect(next!.title).toContain("U2");
    expect(next!.cautions.length).toBeGreaterThan(0);
    expect(readThrough(ground, { ...wish, tests: ["march-b"] }, printed).isOwn).toBe(false);
    expect(readThrough(ground, wish, "nothing of the kind").ranked).toEqual([]);
  });

  it("is told with its wrong bits", () => {
    expect(findingWords({ test: "A", element: 3, address: 0x1234, view: 2, wanted: 0x55, got: 0x5d })).toBe(
      "element 3, $1234 of 2: wanted $55, got $5D, bit 3 wrong",
    );
    expect(findingWords({ test: "E", element: 1 })).toBe("element 1");
  });

  it("finds the program that was made here another day", () => {
    keepWish(makeForms(ground, wish), wish);
    expect(wishOf(printed)).toEqual(wish);
    expect(wishOf("BEGIN 0000")).toBeUndefined();
    localStorage.setItem("rouse-test-programs", "{");
    expect(wishOf(printed)).toBeUndefined();
  });

  it("draws its suspects on the board, by rank", () => {
    vi.stubGlobal(
      "ResizeObserver",
      class {
        observe(): void {}
        disconnect(): void {}
      },
    );
    const { ranked } = readThrough(ground, wish, printed);
    const { container } = render(<SuspectsDrawn memory={packMemory(map.computer)} ranked={ranked} />);
    expect(screen.getByRole("img").getAttribute("aria-label")).toMatch(/^The boards\. 1: U2 .* on main board/);
    expect(container.querySelector(".m-chip.is-lit .m-chip-name")?.textContent).toBe("U2");
    expect(container.querySelector(".m-chip.is-lit .m-rank")?.textContent).toBe("1");
  });
});

describe("the choice", () => {
  it("keeps tests in their order, and offers only memory that the bench has", async () => {
    const user = userEvent.setup();
    const onWish = vi.fn();
    const onMake = vi.fn();
    const choices = choicesOf(ground);
    expect(choices).toMatchObject({ cpu: "MC6809E", ports: ["console"], hasWindow: false, hasTranslation: false });
    render(
      <Choose
        choices={choices}
        wish={{ ...usualWish(), tests: ["march-c-", "port"] }}
        isBusy={false}
        onWish={onWish}
        onMake={onMake}
      />,
    );
    expect(screen.queryByText("the banks behind the window")).toBeNull();
    await user.click(screen.getByRole("checkbox", { name: /^Address lines/ }));
    expect(onWish.mock.lastCall![0].tests).toEqual(["march-c-", "address", "port"]);
    await user.selectOptions(screen.getByLabelText("March"), "march-b");
    expect(onWish.mock.lastCall![0].tests).toEqual(["march-b", "port"]);
    await user.click(screen.getByRole("radio", { name: /^in memory/ }));
    expect(onWish.mock.lastCall![0].place).toBe("memory");
    await user.click(screen.getByRole("button", { name: "Make the program" }));
    expect(onMake).toHaveBeenCalledTimes(1);
  });
});

describe("typing in", () => {
  it("goes line by line with keys and buttons, and keeps its place", async () => {
    const user = userEvent.setup();
    const forms = { hex: "0000  01 | 01\n0008  02 | 02\n0010  03 | 03\n", data: "10 REM\n20 END\n" };
    const { unmount } = render(<TypeIn id="ABCD" forms={forms} />);
    screen.getByRole("application").focus();
    await user.keyboard("{ArrowDown}{Enter}");
    expect(screen.getByTestId("line").textContent).toBe("line 3 of 3");
    await user.click(screen.getByRole("button", { name: "Line before" }));
    expect(screen.getByRole("status").textContent).toBe("0008  02 | 02");
    unmount();
    render(<TypeIn id="ABCD" forms={forms} />);
    expect(screen.getByTestId("line").textContent).toBe("line 2 of 3");
    await user.selectOptions(screen.getByLabelText("As"), "data");
    expect(screen.getByTestId("line").textContent).toBe("line 1 of 2");
  });
});
