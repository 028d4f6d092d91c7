import { readFrame } from "@rouse/core/line";
import { type Protocol, Receiver, Sender, TextReceiver, TextSender, type TransferEvent } from "@rouse/core/transfer";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { answerTime, LineSession, RealPort, runTransfer } from "./index.ts";
import { DoublePort } from "./testkit/double.ts";
import { faultyLine, seeded } from "./testkit/faulty.ts";
import { Ptys } from "./testkit/pty.ts";

const SETTINGS = { rate: 115_200, frame: readFrame("8N1"), flow: "none" } as const;
const now = () => performance.now();
let ptys: Ptys;

beforeEach(() => {
  ptys = new Ptys();
});
afterEach(() => ptys.clear());

const file = (name: string, length: number, seed: number) => {
  const random = seeded(seed);
  return { name, bytes: Uint8Array.from({ length }, () => Math.floor(random() * 256)), modified: 500_000_000 };
};
const opened = async (paths: readonly string[]) => {
  const sessions = paths.map((path) => new LineSession(new RealPort(path), SETTINGS));
  for (const each of sessions) await each.open();
  return sessions as [LineSession, LineSession];
};
const ended = (events: readonly TransferEvent[]) =>
  events.flatMap((event) => (event.kind === "file ends" ? [event.file] : []));

describe("a transfer over ptys", () => {
  it.each(["xmodem", "xmodem-crc", "xmodem-1k", "ymodem"] as Protocol[])(
    "by %s brings every byte",
    async (protocol) => {
      const [near, far] = await opened(await ptys.pair());
      const files =
        protocol === "ymodem" ? [file("A.BIN", 3000, 1), file("B", 0, 2), file("C", 129, 3)] : [file("A", 2560, 4)];
      const got: TransferEvent[] = [];
      const ends = await Promise.all([
        runTransfer(near, new Sender(protocol, files), { now }),
        runTransfer(far, new Receiver(protocol), { now, onEvent: (event) => got.push(event) }),
      ]);
      expect(ends).toEqual([undefined, undefined]);
      expect(ended(got).map((each) => Buffer.from(each.bytes).equals(files[ended(got).indexOf(each)]!.bytes))).toEqual(
        files.map(() => true),
      );
      await Promise.all([near.close(), far.close()]);
    },
  );

  it("brings every byte over a line that drops, doubles, flips and stalls", async () => {
    const faults = { drop: 4e-4, double: 2e-4, flip: 4e-4, stall: { chance: 5e-5, ms: 80 } };
    const lines = await faultyLine(ptys, faults, 11);
    const [near, far] = await opened(lines.map((each) => each.path));
    const sent = file("A", 128 * 30, 5);
    const events: TransferEvent[] = [];
    const options = { retries: 30, timeout: 1300 };
    const ends = await Promise.all([
      runTransfer(near, new Sender("xmodem-crc", [sent], options), { now }),
      runTransfer(far, new Receiver("xmodem-crc", { ...options, linger: 600 }), {
        now,
        onEvent: (event) => events.push(event),
      }),
    ]);
    expect(ends).toEqual([undefined, undefined]);
    expect(Buffer.from(ended(events)[0]!.bytes).equals(sent.bytes)).toBe(true);
    expect(events.filter((event) => event.kind === "retry").length).toBeGreaterThan(0);
    await Promise.all([near.close(), far.close()]);
  });

  it("can be cancelled, and the other end knows", async () => {
    const [near, far] = await opened(await ptys.pair());
    const stopping = new AbortController();
    const ends = await Promise.all([
      runTransfer(near, new Sender("xmodem-crc", [file("A", 500_000, 6)]), {
        now,
        signal: stopping.signal,
        onEvent: (event) => {
          if (event.kind === "progress" && event.bytes > 20_000) stopping.abort();
        },
      }),
      runTransfer(far, new Receiver("xmodem-crc"), { now }),
    ]);
    expect(ends).toEqual(["Cancelled here.", "The other end cancelled."]);
    await Promise.all([near.close(), far.close()]);
  });
});

describe("plain text", () => {
  it("goes at its pace, and is taken until silence", async () => {
    const [one, other] = DoublePort.pair();
    const near = new LineSession(one, SETTINGS);
    const far = new LineSession(other, SETTINGS);
    await Promise.all([near.open(), far.open()]);
    const got: TransferEvent[] = [];
    const start = now();
    const text = { name: "T", bytes: new TextEncoder().encode("10 PRINT\n20 END\n") };
    const ends = await Promise.all([
      runTransfer(near, new TextSender(text, { perCharacter: 5, afterLine: 50 }), { now }),
      runTransfer(far, new TextReceiver({ quiet: 300 }), { now, onEvent: (event) => got.push(event) }),
    ]);
    expect(ends).toEqual([undefined, undefined]);
    expect(Buffer.from(ended(got)[0]!.bytes).toString()).toBe("10 PRINT\r20 END\r");
    expect(now() - start).toBeGreaterThan(15 * 5 + 50);
    await Promise.all([near.close(), far.close()]);
  });
});

describe("the time to wait for an answer", () => {
  it("covers a whole block on a slow line", () => {
    // 1,029 characters of 11 bits at 110 bit/s are 103 s.
    expect(answerTime(110, 11)).toBe(10_000 + 102_900);
  });
});

describe("a pulled adapter", () => {
  it("ends a transfer with a sentence", async () => {
    const pty = await ptys.open("port", () => undefined);
    const session = new LineSession(new RealPort(pty.path), SETTINGS);
    await session.open();
    const running = runTransfer(session, new TextSender(file("A", 3000, 7), { perCharacter: 1 }), { now });
    setTimeout(() => void pty.end(), 100);
    expect(await running).toMatch(/is not plugged in|went away; is the adapter plugged in/);
    expect(session.state).toBe("lost");
    await ptys.open("port", () => undefined);
    for (let waited = 0; session.state !== "open" && waited < 5000; waited += 20)
      await new Promise((resolve) => setTimeout(resolve, 20));
    await session.write(new TextEncoder().encode("again"));
    await session.close();
  });
});
