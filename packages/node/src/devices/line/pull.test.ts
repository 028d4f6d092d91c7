import { readFrame } from "@rouse/core/line";
import { expect, it } from "vitest";
import { RealPort } from "./serial.ts";
import { Ptys } from "./testkit/pty.ts";

const sleep = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

/** A port that is read from when it goes is met once in about five pulls. */
const PULLS = 20;

it("notices each time that an adapter is pulled while bytes come", async () => {
  const ptys = new Ptys();
  const unseen: number[] = [];
  for (let pull = 0; pull < PULLS; pull++) {
    const pty = await ptys.open(`port${pull}`, () => undefined);
    const port = new RealPort(pty.path);
    let came = 0;
    let isLost = false;
    await port.open(
      { rate: 9600, frame: readFrame("8N1"), flow: "none" },
      {
        data: ({ length }) => {
          came += length;
        },
        closed: (lost) => {
          isLost = lost;
        },
      },
    );
    const flood = setInterval(() => pty.send(new Uint8Array(300)), 0);
    while (came < 1000) await sleep(1);
    await pty.end();
    clearInterval(flood);
    for (let waited = 0; !isLost && waited < 5000; waited += 10) await sleep(10);
    if (!isLost) unseen.push(pull);
    await port.close();
  }
  await ptys.clear();
  expect(unseen).toEqual([]);
});
