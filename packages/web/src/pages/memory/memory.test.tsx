import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { type MapState, type MemoryMap, memoryMapOf, pictureOf } from "@rouse/core/memory";
import { cleanup, fireEvent, render, screen } from "@testing-library/react";
import { userEvent } from "@testing-library/user-event";
import { afterEach, describe, expect, it, vi } from "vitest";
import { joined } from "../../parts/chips/drawn.tsx";
import { layoutParts } from "../../parts/chips/layout.ts";
import { Answered } from "./answered.tsx";
import { stateWith } from "./findings.tsx";
import { Latches } from "./latches.tsx";
import { layoutSpace } from "./layout.ts";

afterEach(cleanup);

const mapOf = (computer: string): MemoryMap => {
  const { bench, issues } = readBench(`rouse: 1\nname: x\ncomputer:\n${computer}`, loadCatalogue());
  if (!bench) throw new Error(issues.map(({ sentence }) => sentence).join("\n"));
  return memoryMapOf(bench)!;
};
const BENCH = `
  memory:
    main: { kind: ram, at: $0000, size: 48 KiB, chips: 4164, board: left, places: [U20, U21, U22, U23, U24, U25, U26, U27] }
    window: { kind: window, at: $C000, size: 8 KiB, banks: 8, chips: 4164, board: right, latch: { at: $FF7F, bits: 3, readable: false } }
    ports: { kind: io, at: $FF00, size: 2 bytes, decode: A15..A8 }
  translation: { block: 4 KiB, blocks: 28, tasks: 2, fixed: [{ at: $E000, size: 8 KiB }] }
  boards: { left: {}, right: {} }`;
const map = mapOf(BENCH);

describe("the layout of the CPU's space", () => {
  const layout = layoutSpace(pictureOf(map).space, 480);

  it("gives small stretches a height that can be hit, and goes both ways between address and place", () => {
    expect(layout.rows.map(({ from }) => from)).toEqual([0, 0xc000, 0xe000, 0xff00, 0xff02]);
    for (const row of layout.rows) expect(row.height).toBeGreaterThanOrEqual(16.9);
    expect(layout.rows.reduce((sum, { height }) => sum + height, 0)).toBeCloseTo(480, 6);
    for (let address = 0; address < 0x1_0000; address += 97)
      expect(layout.addressAt(layout.yOf(address) + 1e-6)).toBe(address);
    expect(layout.addressAt(-5)).toBe(0);
    expect(layout.addressAt(500)).toBe(0xffff);
  });

  it("takes mirrors that follow each other as one row, and draws very many stretches page by page", () => {
    expect(layout.rows.at(-1)).toMatchObject({ from: 0xff02, to: 0xffff, title: "ports", mirror: true });
    const fine = mapOf(`
  memory:
    even: { kind: ram, at: $0000, size: 2 bytes, select: not A0 }
    odd: { kind: rom, at: $0001, size: 2 bytes, select: A0 }`);
    const rows = layoutSpace(pictureOf(fine).space, 480).rows;
    expect(rows.length).toBeLessThanOrEqual(256);
    expect(rows.reduce((sum, { from, to }) => sum + to + 1 - from, 0)).toBe(0x1_0000);
  });

  it("parts rows at further cuts", () => {
    const cutAt = layoutSpace(pictureOf(map).space, 480, [0x0100, 0x0200]);
    expect(cutAt.yOf(0x0200) - cutAt.yOf(0x0100)).toBeGreaterThan(12);
  });
});

describe("the layout of the chips", () => {
  it("keeps each board's parts together, bit 7 of a row at the left, whatever the latches hold", () => {
    const { boards, height } = layoutParts(pictureOf(map), 400);
    expect(boards.map(({ board, parts }) => [board, parts.map(({ part }) => part.name)])).toEqual([
      ["left", ["main"]],
      ["right", ["window"]],
      [undefined, ["ports"]],
    ]);
    const chips = boards[0]!.parts[0]!.chips;
    expect(chips).toHaveLength(8);
    expect(chips[7]!.place).toBe("U27");
    expect(chips[7]!.x).toBeLessThan(chips[0]!.x);
    for (const { x, width } of chips) expect(x + width).toBeLessThanOrEqual(400);
    for (const board of boards)
      for (const { bar } of board.parts) expect(bar.y + bar.height).toBeLessThanOrEqual(board.y + board.height);
    expect(
      joined([
        { first: 4, last: 7 },
        { first: 0, last: 3 },
        { first: 0, last: 3 },
        { first: 9, last: 9 },
      ]),
    ).toEqual([
      { first: 0, last: 7 },
      { first: 9, last: 9 },
    ]);
    const translated: MapState = { ...map.powerOn, translation: { ...map.powerOn.translation!, on: true } };
    expect(layoutParts(pictureOf(map, translated), 400)).toEqual({ boards, height });
  });
});

describe("who answers", () => {
  it("names part, bank, board and the chip of each bit, and takes a typed address", async () => {
    const user = userEvent.setup();
    const onChoose = vi.fn();
    const onBit = vi.fn();
    const state = { ...map.powerOn, latches: { window: 3 } };
    const shown = (address: number) => (
      <Answered map={map} state={state} address={address} bit={undefined} onBit={onBit} onChoose={onChoose} />
    );
    const { rerender } = render(shown(0xc123));
    expect(screen.getByTestId("answer").textContent).toBe(
      "Read and writewindow (window), bank 3, byte 24,867 of it, on right",
    );
    rerender(shown(0xff7f));
    expect(screen.getByTestId("answer").textContent).toContain("A write setslatch window, 3 bits, write only");
    rerender(shown(0x1234));
    await user.click(screen.getByRole("button", { name: "bit 5, U25" }));
    expect(onBit).toHaveBeenCalledWith(5);
    const field = screen.getByLabelText("An address, in hexadecimal");
    await user.clear(field);
    await user.type(field, "c0de");
    expect(onChoose).toHaveBeenLastCalledWith(0xc0de);
    await user.clear(field);
    await user.type(field, "high");
    expect(screen.getByRole("alert").textContent).toMatch(/“high” is not an address/);
  });
});

describe("the latches", () => {
  it("have a slider each, and entries of the map once translation is on", async () => {
    const user = userEvent.setup();
    const onState = vi.fn();
    const { rerender } = render(<Latches map={map} state={map.powerOn} isStart onState={onState} />);
    expect(screen.getByRole<HTMLButtonElement>("button", { name: "As at power-on" }).disabled).toBe(true);
    fireEvent.change(screen.getByLabelText(/^window/), { target: { value: "5" } });
    expect(onState).toHaveBeenLastCalledWith({ ...map.powerOn, latches: { window: 5 } });
    await user.click(screen.getByRole("checkbox", { name: /Translation is on/ }));
    const on = onState.mock.lastCall![0] as MapState;
    expect(on.translation!.on).toBe(true);
    rerender(<Latches map={map} state={on} isStart={false} onState={onState} />);
    fireEvent.change(screen.getByLabelText(/^\$5000–\$5FFF/), { target: { value: "12" } });
    const set = onState.mock.lastCall![0] as MapState;
    expect(map.whoAnswers(set, 0x5000).read).toMatchObject({ region: "window", block: 12, bank: 0 });
    expect(screen.getByLabelText<HTMLInputElement>(/^\$F000–\$FFFF/).disabled).toBe(true);
    await user.click(screen.getByRole("button", { name: "As at power-on" }));
    expect(onState).toHaveBeenLastCalledWith(map.powerOn);
  });

  it("take the bits of a proof's first difference", () => {
    const start = { latches: { window: 5 } };
    expect(stateWith([["window.1", true]], start).latches).toEqual({ window: 7 });
    expect(stateWith([["window.0", false]], start).latches).toEqual({ window: 4 });
    expect(stateWith([["read", true]], start).latches).toEqual({ window: 5 });
  });
});
