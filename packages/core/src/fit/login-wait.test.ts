import { describe, expect, it } from "vitest";
import { readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { STANDARD_8_INCH } from "../volume/extent-entry/index.ts";
import { buildExtentEntry } from "../volume/index.ts";
import { fitChain, surveyForFit } from "./index.ts";

const catalogue = loadCatalogue();
const image = surveyForFit(
  "disk",
  buildExtentEntry(
    [{ path: "HELLO.COM", type: "file", bytes: new Uint8Array(2000).fill(0x21) }],
    STANDARD_8_INCH,
    new Uint8Array(6000).fill(0xc3),
  ),
);

function wait(cpu: string, show: string, images = [image]) {
  const { bench, issues } = readBench(
    `rouse: 1\nname: x\ncomputer: { cpu: { part: Z80A${cpu} } }\nbuses: { cable: { kind: 50-wire drive bus } }\ndrives: { A: { class: eight-inch-one-side, bus: cable } }\nimages: { disk: { file: images/disk.img, recording: ecma-54, drive: A } }\nshow: { target: prompt, image: disk${show} }`,
    catalogue,
  );
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return fitChain({ bench, catalogue, images }).findings.find((each) => each.id === "login-wait");
}

describe("login-wait", () => {
  it("is unknown without the handling, and names its key and the least time", () => {
    const finding = wait("", ", patience: 60 s");
    expect(finding).toMatchObject({ verdict: "unknown", missing: ["computer.cpu.handling"], link: "audience" });
    expect(finding!.sentence).toContain("at least");
  });

  it("runs where the boot is shorter than the patience, and is tight where it is longer", () => {
    expect(wait(", handling: 1 ms", ", patience: 60 s")).toMatchObject({ verdict: "runs" });
    const tight = wait(", handling: 1 ms", ", patience: 1 s");
    expect(tight).toMatchObject({ verdict: "tight", at: "show.patience" });
    expect(tight!.remedy).toContain("rouse time");
    expect(tight!.margin).toContain("−");
  });

  it("is tight, not unknown, where even the least time is too long", () => {
    expect(wait("", ", patience: 100 ms")).toMatchObject({ verdict: "tight" });
  });

  it("has nothing to say without a patience, or without a volume", () => {
    expect(wait(", handling: 1 ms", "")).toBeUndefined();
    expect(wait(", handling: 1 ms", ", patience: 60 s", [])).toBeUndefined();
  });
});
