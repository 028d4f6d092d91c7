import { spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { asciiBytes } from "@rouse/core/bytes";
import { captureHead, captureLine } from "@rouse/core/show";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROOT = fileURLToPath(new URL("../../../..", import.meta.url));
const ROUSE = join(ROOT, "packages/node/bin/rouse.js");
/** Clears the screen, places a title, and writes a line that is wider than 40 columns. */
const SESSION = `\u001b[2J\u001b[1;5HTern\u001b[2;1H${"=".repeat(43)}\r\nlogin: `;
let folder: string;

function rouse(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [ROUSE, "terminal", ...args], {
    cwd: folder,
    encoding: "utf8",
  });
  return { status, out: stdout, err: stderr };
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-terminal-"));
  mkdirSync(join(folder, "job/catalogue"), { recursive: true });
  cpSync(join(ROOT, "demo/mended/bench.yaml"), join(folder, "job/bench.yaml"));
  writeFileSync(
    join(folder, "job/catalogue/mine.yaml"),
    'terminals:\n  - { id: my-terminal, title: mine, columns: 20, rows: 4, wraps: true, scrolls: true, letters: upper case only, characterSet: ISO 646, addressing: none, controls: [], rates: [2400], frames: ["7E1"], source: bench }\nsources:\n  - { id: bench, title: tried }\n',
  );
  writeFileSync(join(folder, "raw.bin"), SESSION, "latin1");
  writeFileSync(
    join(folder, "session.jsonl"),
    captureHead({ started: "2026-06-06T13:00:00.000Z", port: "line", rate: 2400, frame: "7E1" }) +
      [
        { t: 0.1, in: asciiBytes(SESSION.slice(0, 9)) },
        { t: 0.2, out: asciiBytes("\u001b[5m") },
        { t: 0.3, in: asciiBytes(SESSION.slice(9)) },
      ]
        .map(captureLine)
        .join(""),
  );
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse terminal", () => {
  it("names, counts and places the functions of what came in, and of nothing that went out", () => {
    const { status, out } = rouse("session.jsonl");
    expect(status).toBe(0);
    expect(out).toMatch(/CUP +cursor position +sequence +×2 +first at 4/i);
    expect(out).not.toContain("SGR");
    expect(rouse("raw.bin").out).toBe(out);
  });

  it("says what the audience of a terminal without ECMA-48 sees, beside what is meant", () => {
    const { status, out } = rouse("raw.bin", "--terminal", "screen-40-upper");
    expect(status).toBe(0);
    expect(out).toMatch(/ED \(.*\), once, first at byte 0: shown as characters, “\[2J”\./);
    expect(out).toContain("shown as capitals");
    expect(out).toMatch(/wider than 40 columns \(widest \d+\)/);
    expect(out).toMatch(/│ {4}Tern .*≠ │\[2J\[1;5HTERN\[2;1H=/);
  });

  it("shows both screens in the terminal's variant of ISO 646", () => {
    writeFileSync(join(folder, "german.bin"), "[Gru~e]", "latin1");
    const shown = (...args: string[]) => rouse("german.bin", "--terminal", "screen-80-plain", ...args);
    expect(shown("--code", "de").out).toMatch(/│ÄGrußeÜ +│ {3}│ÄGrußeÜ/);
    expect(shown().out).toContain("[Gru~e]");
    expect(shown("--code", "none")).toMatchObject({ status: 2, err: expect.stringContaining("there is plain") });
  });

  it("takes a terminal of the bench, and one of the job's own catalogue", () => {
    const mine = rouse("raw.bin", "--job", "job", "--terminal", "my-terminal", "--json");
    expect(JSON.parse(mine.out)).toMatchObject({
      format: "rouse-functions",
      terminal: "my-terminal",
      lacking: ["ED", "CUP"],
      here: ["[2J[1;5HTERN[2;1H===", expect.anything(), expect.anything(), expect.anything()],
    });
    const bench = rouse("raw.bin", "--job", "job", "--terminal", "stage terminal");
    expect(bench.out).toContain("on stage terminal");
    expect(bench.out).not.toContain("shown as characters");
  });

  it("meets a wrong name, a missing file and a wrong size in one sentence", () => {
    expect(rouse("raw.bin", "--terminal", "my-terminal")).toMatchObject({
      status: 2,
      err: expect.stringMatching(/^rouse: There is no terminal “my-terminal”/),
    });
    expect(rouse("raw.bin", "--job", "job", "--terminal", "stage terminl").err).toContain(
      "did you mean “stage terminal”?",
    );
    expect(rouse("none.bin").status).toBe(2);
    expect(rouse("raw.bin", "--columns", "0").status).toBe(2);
    expect(rouse().status).toBe(2);
  });
});
