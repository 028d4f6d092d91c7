import { readingText, type Step, stateOf } from "@rouse/core/runbook/state";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { openKeeper } from "./keep.ts";
import { judged } from "./reading.ts";
import { asLogged, createRunBookStore } from "./store.ts";
import type { Kept } from "./types.ts";

const volts = { what: "rail +5 V", dimension: "voltage", low: 4.75, high: 5.25, text: "5 V ± 5 %" } as const;
const step = (id: string, more: Partial<Step> = {}): Step => ({
  id,
  stage: "supply",
  title: id,
  why: "",
  how: [],
  expected: "",
  tools: [],
  time: { seconds: 60, from: "usual" },
  fails: { say: "", checks: [] },
  warnings: [],
  missing: [],
  basis: "0123456789abcdef",
  ...more,
});
const steps = [step("case"), step("rail", { reading: volts }), step("boot")];

/** A server over nothing but memory. */
let log: Map<string, Record<string, unknown>>;
let sent: { path: string; ids: unknown[] }[];
let reach: "all" | "nothing" | "loses answers";
let refuse: string | undefined;
let job: string;
async function fakeFetch(path: string, init: RequestInit = {}): Promise<Response> {
  if (reach === "nothing") throw new TypeError("failed");
  const answer = (body: object, status = 200) => new Response(JSON.stringify(body), { status });
  if (path === "/api/runbook")
    return answer({
      job,
      book: { bench: "b", steps },
      log: [...log.values()].map((entry) => ({ time: entry.at, entry })),
      unread: [],
    });
  const body = JSON.parse(String(init.body)) as { entries?: Kept["entry"][]; entry?: Kept["entry"] };
  const entries = body.entries ?? [body.entry!];
  sent.push({ path, ids: entries.map(({ id }) => id) });
  if (path === "/api/runbook/photo" && refuse === "final")
    return answer({ error: { code: "too-large", sentence: "Too large." } }, 413);
  const known = entries.filter(({ id }) => log.has(id!)).map(({ id }) => id);
  const refused = entries
    .filter(({ note }) => refuse !== undefined && note === refuse)
    .map(({ id }) => ({ id, sentence: "No." }));
  const added = entries.map(({ id }) => id!).filter((id) => !log.has(id) && !refused.some((each) => each.id === id));
  for (const each of entries) if (added.includes(each.id!)) log.set(each.id!, { ...each });
  if (reach === "loses answers") {
    reach = "all";
    throw new TypeError("the answer was lost");
  }
  return answer({ added, known, refused });
}

beforeEach(() => {
  log = new Map();
  sent = [];
  reach = "all";
  refuse = undefined;
  job = "job 1";
  vi.stubGlobal("fetch", fakeFetch);
  vi.stubGlobal(
    "WebSocket",
    class {
      close(): void {}
    },
  );
});
afterEach(() => vi.unstubAllGlobals());

const keeper = openKeeper();
const made = async () => {
  for (const { id } of await (await keeper).all()) await (await keeper).drop(id);
  const store = createRunBookStore(keeper);
  await store.sync();
  return store;
};
const settled = async (store: ReturnType<typeof createRunBookStore>): Promise<void> => {
  for (let k = 0; k < 5; k++) await store.sync();
};
const stateIn = (store: ReturnType<typeof createRunBookStore>, id: string) => {
  const { told, kept } = store.get();
  return stateOf(told!.book, [...told!.log, ...asLogged(kept)]).steps.find((each) => each.step.id === id)?.state;
};

describe("entries of the run book", () => {
  it("count at once, are sent, and wait no longer", async () => {
    const store = await made();
    const adding = store.add(steps[0]!, { what: "tick" });
    await adding;
    expect(stateIn(store, "case")).toBe("done");
    await settled(store);
    expect(store.get().kept).toEqual([]);
    expect(stateIn(store, "case")).toBe("done");
    expect(log.size).toBe(1);
  });

  it("are kept without a connection, in their order, and merged without loss when it is back", async () => {
    const store = await made();
    reach = "nothing";
    await store.add(steps[0]!, { what: "tick" });
    await store.add(steps[0]!, { what: "note", note: "dusty" });
    await store.add(steps[0]!, { what: "file", photo: new Blob(["x"], { type: "image/png" }) });
    expect(await store.add(steps[1]!, { what: "tick", reading: "4.1 V" })).toMatchObject({ within: false });
    await store.sync();
    expect(store.get()).toMatchObject({ connection: "lost", unpaired: false });
    expect(store.get().kept).toHaveLength(4);
    expect(stateIn(store, "case")).toBe("done");
    reach = "all";
    await settled(store);
    expect(store.get()).toMatchObject({ connection: "open", kept: [] });
    expect(sent.map(({ path, ids }) => [path.replace("/api/runbook/", ""), ids.length])).toEqual([
      ["entries", 2],
      ["photo", 1],
      ["entries", 1],
    ]);
    expect([...log.values()].map(({ what }) => what)).toEqual(["tick", "note", "file", "reading"]);
  });

  it("are not doubled where only the answer was lost", async () => {
    const store = await made();
    reach = "loses answers";
    await store.add(steps[0]!, { what: "tick" });
    await settled(store);
    expect(sent.length).toBeGreaterThan(1);
    expect(log.size).toBe(1);
    expect(store.get().kept).toEqual([]);
  });

  it("outlive the page that made them", async () => {
    const before = await made();
    reach = "nothing";
    await before.add(steps[0]!, { what: "tick" });
    await before.sync();
    reach = "all";
    const after = createRunBookStore(keeper);
    await settled(after);
    expect(log.size).toBe(1);
    expect(after.get().kept).toEqual([]);
  });

  it("of another job stay where they are", async () => {
    const before = await made();
    reach = "nothing";
    await before.add(steps[0]!, { what: "tick" });
    await before.sync();
    [reach, job] = ["all", "job 2"];
    const after = createRunBookStore(keeper);
    await settled(after);
    expect(log.size).toBe(0);
    expect(after.get()).toMatchObject({ kept: [], foreign: 1 });
  });

  it("that are refused stay with the reason until they are put away, and hold up no others", async () => {
    const store = await made();
    refuse = "bad";
    const { id } = await store.add(steps[0]!, { what: "note", note: "bad" });
    await store.add(steps[0]!, { what: "note", note: "good" });
    await settled(store);
    expect(store.get().kept.map(({ refused }) => refused)).toEqual(["No."]);
    expect(log.size).toBe(1);
    await store.forget(id);
    refuse = "final";
    await store.add(steps[0]!, { what: "file", photo: new Blob(["x"]) });
    await settled(store);
    expect(store.get().kept.map(({ refused }) => refused)).toEqual(["Too large."]);
  });

  it("need the reading that a step asks for, and one that can be read", async () => {
    const store = await made();
    await expect(store.add(steps[1]!, { what: "tick" })).rejects.toThrow(/asks for a reading/);
    await expect(store.add(steps[1]!, { what: "tick", reading: "much" })).rejects.toThrow(/not a number/);
    expect(store.get().kept).toEqual([]);
  });
});

describe("a reading while it is typed", () => {
  it("is in the step's unit where it has none", () => {
    expect(readingText("5.02", volts)).toBe("5.02 V");
    expect(readingText(" -12 ", volts)).toBe("-12 V");
    expect(readingText("5,020 mV", volts)).toBe("5,020 mV");
  });

  it("is within, outside, or not readable yet", () => {
    expect(judged("", volts).is).toBe("none");
    expect(judged("5.0", volts)).toEqual({ is: "within", sentence: "Rail +5 V at 5 V is within 4.75 V to 5.25 V." });
    expect(judged("5020 mV", volts).is).toBe("within");
    expect(judged("4.2", volts).is).toBe("outside");
    expect(judged("5 ohm", volts).is).toBe("unread");
    expect(judged("-", volts).is).toBe("unread");
  });
});
