import { act, cleanup, fireEvent, render, screen } from "@testing-library/react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { PAUSE, PlanView } from "./plan-view.tsx";
import { Result, Unfinished } from "./result.tsx";
import { Running } from "./running.tsx";
import type { Certificate, WritePlan, WriteState } from "./types.ts";
import {
  canResume,
  commandInWords,
  estimateInWords,
  leftOf,
  outcomeInWords,
  overwriteInWords,
  verdictOf,
} from "./words.ts";

const plan: WritePlan = {
  id: "p1",
  image: { name: "disk.img", size: 737_280, sha256: "ab".repeat(32), format: "FAT12 volume" },
  target: {
    path: "/dev/sdz",
    kind: "block device",
    size: 737_280,
    model: "a drive",
    mounted: [],
    holds: "letters",
    word: "sdz",
  },
  blocks: 1440,
  blockSize: 512,
  from: 0,
  copyTo: "before-sdz.img",
  fit: [{ link: "drive", verdict: "runs", sentence: "The drive reads it.", remedy: null }],
  estimates: {
    saving: { seconds: 60, low: 60, high: 60, known: false },
    writing: { seconds: 100, low: 99, high: 101, known: true },
    verifying: { seconds: 60, low: 60, high: 60, known: false },
  },
  noEstimate: null,
};
const certificate: Certificate = {
  image: { name: "disk.img", sha256: "ab".repeat(32), size: 737_280 },
  target: { path: "/dev/sdz", kind: "block device", model: null, held: null },
  blocks: 1440,
  blocksVerified: 1440,
  compared: true,
  resumedFrom: 0,
  copyOfBefore: "before-sdz.img",
  unreadBefore: 0,
  retries: 1,
  bad: [],
  verified: true,
  pastCache: true,
  sha256ReadBack: "ab".repeat(32),
  started: "2026-06-06T10:00:00Z",
  ended: "2026-06-06T10:02:00Z",
  madeBy: "Rouse test",
};
const state: WriteState = {
  id: "p1",
  plan,
  state: "running",
  progress: { stage: "writing", done: 360, blocks: 1440, elapsed: 30_000 },
  took: { saving: 20_000, writing: 30_000 },
  certificate: null,
  problem: null,
};

let asked: { path: string; body: unknown }[];
beforeEach(() => {
  asked = [];
  vi.useFakeTimers();
  // jsdom lacks it; the dialog asks for it.
  vi.stubGlobal("CSS", { escape: (text: string) => text });
  vi.stubGlobal("fetch", async (path: string, init: RequestInit) => {
    asked.push({ path, body: JSON.parse(String(init.body)) });
    return new Response(JSON.stringify(state));
  });
});
afterEach(() => {
  cleanup();
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

describe("the words of a write", () => {
  it("say what is overwritten, how long, and what came of it", () => {
    expect(overwriteInWords(plan.target)).toBe(
      "Everything on the disk in a drive (/dev/sdz) will be overwritten. It holds letters.",
    );
    expect(overwriteInWords({ ...plan.target, kind: "new file", path: "/j/a.img" })).toBe("/j/a.img will be made.");
    expect(estimateInWords(plan.estimates!.writing)).toBe("100 s (99 s to 101 s)");
    expect(estimateInWords(plan.estimates!.verifying)).toBe("at least 60 s");
    expect(leftOf(state.progress!)).toBe(90_000);
    expect(leftOf({ ...state.progress!, done: 0 })).toBeUndefined();
    expect(outcomeInWords(certificate)).toBe(
      "All 1,440 blocks were written and read back the same, past the host's cache, with 1 retry.",
    );
    const bad = [{ block: 7, tries: 4, why: "x", holds: "y" }];
    expect(outcomeInWords({ ...certificate, verified: false, bad })).toMatch(/^1 block of 1,440 is bad\./);
    const unread = { ...certificate, verified: false, compared: false, sha256ReadBack: null };
    expect(outcomeInWords(unread)).toMatch(/^It was written\. .* nothing is verified\.$/);
    expect([certificate, unread, { ...certificate, verified: false }].map(verdictOf)).toEqual([
      "runs",
      "unknown",
      "stops",
    ]);
    expect(commandInWords(["my-writer", "--to", "a disk", "{image}"])).toBe("my-writer --to “a disk” {image}");
  });

  it("offer to go on only with what was interrupted", () => {
    const failed = (code: string): WriteState => ({ ...state, state: "failed", problem: { code, sentence: "x" } });
    expect(["interrupted", "target-failed", "no-permission"].map((code) => canResume(failed(code)))).toEqual([
      true,
      true,
      false,
    ]);
    expect(canResume(state)).toBe(false);
    const adapter = { ...plan, target: { ...plan.target, kind: "adapter" as const } };
    expect(canResume({ ...failed("interrupted"), plan: adapter })).toBe(false);
  });
});

describe("the confirmation", () => {
  const field = (): HTMLElement => screen.getByRole("textbox");
  const ready = (): HTMLButtonElement => screen.getByRole("button", { name: "Make ready" });
  const yes = (): HTMLButtonElement => screen.getByRole("button", { name: "Write 1,440 blocks" });
  const show = (of = plan) => render(<PlanView plan={of} onBack={() => {}} onStarted={() => {}} />);

  it("needs the word, then a second step that wakes only after a pause", () => {
    show();
    expect(ready().disabled).toBe(true);
    fireEvent.change(field(), { target: { value: "sdy" } });
    expect(ready().disabled).toBe(true);
    fireEvent.change(field(), { target: { value: "sdz" } });
    fireEvent.click(ready());
    expect(screen.getByRole("alertdialog").textContent).toContain("It holds letters.");
    expect(document.activeElement?.textContent).toBe("Not yet");
    fireEvent.click(yes());
    fireEvent.click(yes());
    act(() => void vi.advanceTimersByTime(PAUSE - 1));
    fireEvent.click(yes());
    expect(asked).toEqual([]);
    act(() => void vi.advanceTimersByTime(1));
    fireEvent.click(yes());
    expect(asked).toEqual([{ path: "/api/write/start", body: { plan: "p1", word: "sdz", despite: false } }]);
  });

  it("sleeps again when it is opened again", () => {
    show();
    fireEvent.change(field(), { target: { value: "sdz" } });
    fireEvent.click(ready());
    act(() => void vi.advanceTimersByTime(PAUSE));
    fireEvent.click(screen.getByRole("button", { name: "Not yet" }));
    fireEvent.click(ready());
    fireEvent.click(yes());
    expect(asked).toEqual([]);
  });

  it("also asks for a tick where the check says that it stops the chain", () => {
    const one = { link: "drive", verdict: "stops", sentence: "The drive has one side, the image two." } as const;
    show({ ...plan, fit: [...plan.fit, { ...one, remedy: "Take a drive of two sides." }] });
    expect(screen.getByRole("region", { name: "Whether it fits" }).textContent).toBe(
      "Whether it fitsrunsdrive: The drive reads it.stopsdrive: The drive has one side, the image two. Take a drive of two sides.",
    );
    fireEvent.change(field(), { target: { value: "sdz" } });
    expect(ready().disabled).toBe(true);
    fireEvent.click(screen.getByRole("checkbox", { name: /Write it all the same/ }));
    expect(ready().disabled).toBe(false);
  });
});

describe("a write under way and ended", () => {
  it("tells blocks, time left, and the model's time beside the real one", () => {
    render(<Running state={state} isLost={false} />);
    expect(screen.getByTestId("progress").textContent).toBe("Block 360 of 1,440; 30 s so far, about 90 s left");
    // 30 s of the 100 s that the bench's drive takes.
    expect(screen.getByTestId("model").textContent).toBe(
      "By the timing model the bench's drive would be at block 432 now, and takes 100 s (99 s to 101 s)",
    );
    expect(screen.getByRole("row", { name: /^Writing/ }).textContent).toBe("Writing30 s100 s (99 s to 101 s)");
    fireEvent.click(screen.getByRole("button", { name: "Stop" }));
    expect(asked.map(({ path }) => path)).toEqual(["/api/write/stop"]);
  });

  it("tells bad blocks in words", () => {
    const bad = [{ block: 1402, tries: 4, why: "it cannot be read back", holds: "record 17 of ACCOUNTS" }];
    const done: WriteState = {
      ...state,
      state: "done",
      certificate: { ...certificate, verified: false, bad, sha256ReadBack: null },
    };
    render(<Result state={done} onAgain={() => {}} onResume={() => {}} />);
    expect(screen.getByRole("list", { name: "Bad blocks" }).textContent).toBe(
      "Block 1,402: it cannot be read back, after 4 tries. It holds record 17 of ACCOUNTS.",
    );
    expect(document.activeElement?.textContent).toContain("/dev/sdz is not to be trusted");
    expect(screen.queryByRole("button", { name: "Go on from there" })).toBeNull();
  });

  it("offers to go on with what its journal says was interrupted", () => {
    const begun = { image: "disk.img", blocks: 1440, started: "2026-06-06T10:00:00Z" };
    const resumed: unknown[] = [];
    render(
      <Unfinished
        interrupted={[
          { ...begun, target: "/dev/sdz", device: "/dev/sdz", done: 90 },
          { ...begun, target: "/elsewhere/a.img", done: 1440 },
        ]}
        onResume={(asked) => resumed.push(asked)}
      />,
    );
    const [first, second] = screen.getAllByRole("listitem");
    expect(first!.textContent).toContain("90 of 1,440 blocks are safely written.");
    expect(second!.textContent).toMatch(/not yet compared\..*outside the job folder/);
    fireEvent.click(screen.getByRole("button", { name: "Go on with it" }));
    expect(resumed).toEqual([{ image: "disk.img", device: "/dev/sdz" }]);
  });

  it("shows what the adapter's program printed, and does not offer to go on in the middle", () => {
    const target = { ...plan.target, path: "my adapter", kind: "adapter" as const };
    const calls = { write: ["my-writer", "a b"], readBack: null };
    const done: WriteState = {
      ...state,
      plan: { ...plan, target: { ...target, calls }, copyTo: null },
      state: "done",
      certificate: {
        ...certificate,
        verified: false,
        compared: false,
        target: { ...target, model: null, held: null },
        output: "track 80/80",
      },
    };
    render(<Result state={done} onAgain={() => {}} onResume={() => {}} />);
    expect(screen.getByRole("heading", { level: 2 }).textContent).toContain("went to my adapter, unverified");
    expect(screen.getByText("track 80/80")).toBeTruthy();
    expect(screen.queryByRole("row", { name: /^Reading back/ })).toBeNull();
  });
});
