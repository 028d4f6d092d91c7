import { describe, expect, it } from "vitest";
import { fullImage, KINDS, soundImages } from "./images.ts";
import { mutated, surveyMutated } from "./mutate.ts";

describe.each(KINDS)("the fuzz of %s", (kind) => {
  const sounds = soundImages(kind);

  it("surveys 300 damaged images without a crash, most of them still as volumes", () => {
    let known = 0;
    for (let seed = 1; seed <= 300; seed++) if (surveyMutated(sounds, seed).known) known++;
    expect(known).toBeGreaterThan(200);
  });

  it("makes the same damage of the same seed, and does damage", () => {
    const one = mutated(sounds, 5);
    expect(Buffer.compare(one, mutated(sounds, 5))).toBe(0);
    expect(sounds.every(({ image }) => Buffer.compare(image, one) !== 0)).toBe(true);
  });

  it("has a full disk of about 1.2 MB", () => {
    expect(fullImage(kind).length).toBeGreaterThan(1_000_000);
  });
});
