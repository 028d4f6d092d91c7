import { describe, expect, it } from "vitest";
import { runAdapter } from "./adapter.ts";

describe("an adapter's program", () => {
  const node = (code: string, ...args: string[]) => [process.execPath, "-e", code, ...args] as [string, ...string[]];

  it("gets its placeholders as arguments that no shell sees, and tells its progress", async () => {
    const shares: number[] = [];
    const { output } = await runAdapter(
      {
        command: node(
          "console.log('track 20/80'); console.log(process.argv.slice(1).join('|'))",
          "{image}",
          "x{drive}",
        ),
        progress: "track (\\d+)/(\\d+)",
        limit: 20,
      },
      { image: "/a b; rm -rf $HOME", drive: "1" },
      { onShare: (share) => shares.push(share) },
    );
    expect(output).toContain("/a b; rm -rf $HOME|x1");
    expect(shares[0]).toBe(0.25);
  });

  it("is stopped with its children when it hangs, and told when it fails or is not there", async () => {
    await expect(runAdapter({ command: node("setInterval(() => {}, 1000)"), limit: 0.3 }, {})).rejects.toMatchObject({
      code: "adapter-hangs",
    });
    await expect(
      runAdapter({ command: node("console.error('no disk'); process.exit(3)"), limit: 20 }, {}),
    ).rejects.toThrow("ended with 3: no disk");
    await expect(runAdapter({ command: ["/no/such/program"], limit: 20 }, {})).rejects.toMatchObject({
      code: "no-adapter",
    });
    await expect(runAdapter({ command: node("0", "{imagine}"), limit: 20 }, { image: "x" })).rejects.toMatchObject({
      code: "no-placeholder",
    });
  });
});
