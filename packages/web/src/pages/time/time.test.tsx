import type { InterleaveAnswer, TimingAnswer } from "@rouse/core/timing";
import { cleanup, render, screen } from "@testing-library/react";
import { userEvent } from "@testing-library/user-event";
import { afterEach, describe, expect, it, vi } from "vitest";
import { inSeconds } from "../../parts/seconds.ts";
import { Interleave } from "./interleave.tsx";
import { Measured } from "./measured.tsx";
import type { SpanColumns } from "./types.ts";
import { endOf, lanesOf, lastBefore, spanAt } from "./waterfall-model.ts";
import { WhatIf } from "./what-if.tsx";

afterEach(cleanup);

const columns: SpanColumns = {
  names: ["read", "wait", "step"],
  lane: ["disk", "arm", "disk", "disk"],
  name: [0, 2, 1, 0],
  start: [0.5, 0, 0.3, 0.9],
  length: [0.2, 0.3, 0.2, 0.1],
};
const answer = { parts: [{ name: "boot file", start: 0, length: 1.2 }] } as unknown as TimingAnswer;

describe("the waterfall", () => {
  it("has the parts first, then the lanes as data flow, each in order of time", () => {
    const lanes = lanesOf(answer, columns);
    expect(lanes.map(({ name }) => name)).toEqual(["part", "arm", "disk"]);
    expect(lanes[2]!.spans.map(({ name }) => name)).toEqual(["wait", "read", "read"]);
    expect(endOf(lanes)).toBe(1.2);
  });

  it("finds the span at a time, and one near by only within reach", () => {
    const { spans } = lanesOf(answer, columns)[2]!;
    expect(lastBefore(spans, 0.1)).toBe(-1);
    expect(spanAt(spans, 0.6, 0)).toBe(1);
    expect(spanAt(spans, 0.72, 0.05)).toBe(1);
    expect(spanAt(spans, 0.88, 0.05)).toBe(2);
    expect(spanAt(spans, 0.8, 0.05)).toBe(-1);
    expect(spanAt(spans, 0.2, 0.2)).toBe(0);
    expect(spanAt([], 1, 1)).toBe(-1);
  });

  it("tells times in the unit that a person compares", () => {
    expect([0, 0.00004, 0.0125, 1.234, 41.26, 864.4].map(inSeconds)).toEqual([
      "0 s",
      "40 µs",
      "12.5 ms",
      "1.23 s",
      "41.3 s",
      "14 min 24 s",
    ]);
  });
});

describe("the what-if sliders", () => {
  const parameters = [
    { id: "interleave", value: 1 },
    { id: "skew", value: 0 },
    { id: "rotation", value: 5 },
    { id: "lineRate", value: 2400 },
  ] as unknown as TimingAnswer["parameters"];

  it("start from the bench's values, try others in base units, and go back", async () => {
    const onTry = vi.fn();
    const user = userEvent.setup();
    const { rerender } = render(<WhatIf parameters={parameters} tried={{}} mostInterleave={20} onTry={onTry} />);
    expect(screen.getByText("300.0 turns a minute")).toBeDefined();
    expect(screen.getByText("2,400 bit/s")).toBeDefined();
    expect((screen.getByRole("button", { name: "Back to the bench" }) as HTMLButtonElement).disabled).toBe(true);
    rerender(<WhatIf parameters={parameters} tried={{ rotation: 5.1 }} mostInterleave={20} onTry={onTry} />);
    expect(screen.getByText("306.0 turns a minute")).toBeDefined();
    await user.click(screen.getByRole("button", { name: "Back to the bench" }));
    expect(onTry).toHaveBeenLastCalledWith({});
  });
});

describe("what was measured", () => {
  it("is taken in line by line, shown with what the model gives, and dropped again", async () => {
    const onMeasured = vi.fn();
    const user = userEvent.setup();
    const { rerender } = render(<Measured measured={[]} fitted={null} onMeasured={onMeasured} />);
    await user.type(screen.getByLabelText("A measurement"), " boot 41 s {Enter}");
    expect(onMeasured).toHaveBeenLastCalledWith(["boot 41 s"]);
    await user.type(screen.getByLabelText("A measurement"), "soon{Enter}");
    expect(screen.getByRole("alert").textContent).toMatch(/^“soon” is not a measurement/);
    expect(onMeasured).toHaveBeenCalledTimes(1);
    const fitted = {
      values: [
        {
          id: "handling" as const,
          label: "handling of a sector by the CPU",
          key: "computer.cpu.handling",
          value: 0.02,
          low: 0.019,
          high: 0.021,
          text: "20 ms (19 ms to 21 ms)",
          howWell: "well" as const,
        },
      ],
      measurements: [{ text: "boot 41 s", measured: 41, spread: 0.5, fitted: 40.8 }],
      misfit: 0.1,
      sentence: "What was missing follows from the measurements.",
    };
    rerender(<Measured measured={["boot 41 s"]} fitted={fitted} onMeasured={onMeasured} />);
    expect(screen.getByText("the model gives 40.8 s")).toBeDefined();
    expect(screen.getByTestId("fitted").textContent).toContain("20 ms (19 ms to 21 ms) well known");
    await user.click(screen.getByRole("button", { name: "Drop boot 41 s" }));
    expect(onMeasured).toHaveBeenLastCalledWith([]);
  });
});

describe("the best interleave", () => {
  const point = (step: number, bytesPerSecond: number) => ({ step, seconds: 1, turns: 2, bytesPerSecond });
  const curve: InterleaveAnswer = {
    known: true,
    missing: [],
    now: { interleave: 1, skew: 0, bytesPerSecond: 1000 },
    interleave: 3,
    skew: 1,
    bytesPerSecond: 2500,
    interleaves: [point(1, 1000), point(2, 1400), point(3, 2400)],
    skews: [point(0, 2400), point(1, 2500)],
  };

  it("is told beside what stands now, and can be tried", async () => {
    const onTry = vi.fn();
    render(<Interleave answer={curve} now={{ interleave: 1, skew: 0 }} onTry={onTry} />);
    expect(screen.getByTestId("best-interleave").textContent).toBe(
      "Interleave 3 with skew 1 reads tracks in a row at 2,500 bytes a second. The bench's own, 1 and 0, gives 1,000 bytes a second.",
    );
    await userEvent.setup().click(screen.getByRole("button", { name: "Try these" }));
    expect(onTry).toHaveBeenCalledWith(3, 1);
  });
});
