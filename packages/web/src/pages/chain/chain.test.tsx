import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { drawingOf, fitChain, makeReport } from "@rouse/core/fit";
import { within } from "@testing-library/dom";
import { cleanup, render, screen } from "@testing-library/react";
import { userEvent } from "@testing-library/user-event";
import { act } from "react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import firstTry from "../../../../../demo/first-try/bench.yaml?text";
import type { WorkbenchReport } from "../../job/types.ts";
import { Cautions } from "./cautions.tsx";
import { Findings } from "./findings.tsx";
import { Scene } from "./scene.tsx";
import { headline, worstLink } from "./words.ts";

/** The page's report of a bench text, without an image. */
function reportOf(text: string): WorkbenchReport {
  const catalogue = loadCatalogue();
  const { bench, where } = readBench(text, catalogue);
  if (!bench) throw new Error("the bench cannot be read");
  const images = bench.images.map(({ name }) => ({ name, size: 1_066_496, needs: [], sha256: null }));
  const chain = fitChain({ bench, catalogue, images });
  return { ...makeReport("test", "bench.yaml", bench, chain, images, where), drawing: drawingOf(bench) };
}
const report = reportOf(firstTry);
const link = (name: string, of = report) => of.links.find((each) => each.link === name)!;

let observers: { see(elements: Iterable<Element>): void }[];
beforeEach(() => {
  observers = [];
  vi.stubGlobal("matchMedia", () => ({ matches: true, addEventListener() {}, removeEventListener() {} }));
  vi.stubGlobal(
    "IntersectionObserver",
    class {
      constructor(told: (entries: object[]) => void) {
        observers.push({ see: (all) => told([...all].map((target) => ({ target, isIntersecting: true }))) });
      }
      observe() {}
      disconnect() {}
    },
  );
  localStorage.clear();
});
afterEach(() => {
  cleanup();
  vi.unstubAllGlobals();
});

describe("the headline", () => {
  it("names every link that stops, else what is unknown, else what is tight", () => {
    expect(headline(report)).toMatch(/^The .*drive.* and the cable stop this chain before the login\.$/);
    const calm = (verdict: "runs" | "tight" | "unknown"): WorkbenchReport => ({
      ...report,
      links: report.links.map((each, index) => ({ ...each, verdict: index === 4 ? verdict : "runs" })),
    });
    expect(headline(calm("runs"))).toBe("The chain reaches the login.");
    expect(headline(calm("tight"))).toBe("The chain reaches the login, with little margin at the board.");
    expect(headline(calm("unknown"))).toContain("1 link cannot be judged");
  });

  it("is of the worst verdict, as is the link opened first", () => {
    expect(worstLink(report)?.verdict).toBe("stops");
  });
});

describe("the scene", () => {
  it("crosses out the wires that both ends drive, and draws a crossed cable crossed", () => {
    const draw = (text: string): Element => {
      cleanup();
      render(<Scene report={reportOf(text)} selected={undefined} addressOf={(each) => `#${each}`} />);
      return screen.getByRole("link", { name: /^Cable/ });
    };
    expect(draw(firstTry).querySelectorAll(".wire-clash").length).toBeGreaterThanOrEqual(3);
    const crossed = draw(firstTry.replace("kind: straight", "kind: null modem"));
    expect(crossed.querySelectorAll(".wire-clash").length).toBe(0);
    expect(crossed.querySelectorAll("g.wire.is-data").length).toBe(2);
  });

  it("draws the screen with its true columns and rows, and as many people as come", () => {
    render(<Scene report={report} selected={undefined} addressOf={(each) => `#${each}`} />);
    const lines =
      screen
        .getByRole("link", { name: /^Terminal/ })
        .querySelector(".cell-lines")
        ?.getAttribute("d") ?? "";
    expect(lines.match(/v/g)).toHaveLength(40 + 1);
    expect(lines.match(/h/g)).toHaveLength(24 + 1);
    expect(screen.getByRole("link", { name: /^Audience/ }).querySelectorAll(".d-person").length).toBe(30);
  });

  it("takes a bench that describes nothing at all", () => {
    render(
      <Scene report={reportOf("rouse: 1\nname: empty\n")} selected={undefined} addressOf={(each) => `#${each}`} />,
    );
    expect(screen.getAllByRole("link")).toHaveLength(11);
    expect(screen.getAllByText("unknown")).toHaveLength(11);
  });
});

describe("findings", () => {
  it("carry figures with who says so, the formula, the remedy and, on demand, the sources", () => {
    const board = link("board");
    render(<Findings of={board} file="bench.yaml" />);
    const [worst] = screen.getAllByRole("article");
    const finding = within(worst!);
    expect(finding.getByRole("heading").textContent).toBe(board.findings[0]!.sentence);
    expect(finding.getByText("What to do:")).toBeTruthy();
    expect(finding.getAllByRole("row").length).toBe(board.findings[0]!.figures.length + 1);
    for (const { title } of board.findings[0]!.sources) expect(worst!.textContent).toContain(title);
    expect(worst!.querySelector<HTMLDetailsElement>(".sources")!.open).toBe(false);
  });

  it("lead from an unknown to the keys that would settle it", () => {
    const bare = reportOf(
      "rouse: 1\nname: x\ndrives: { d: {} }\nimages: { i: { file: images/i, drive: d, recording: ecma-54 } }\n",
    );
    render(<Findings of={link("drive", bare)} file="bench.yaml" />);
    const addresses = screen.getAllByRole("link").map((each) => each.getAttribute("href"));
    expect(addresses.some((each) => each?.startsWith("#/bench?key=drives.d."))).toBe(true);
  });
});

describe("the cautions", () => {
  it("cannot be put away before each was in view, then leave one line that opens them again", async () => {
    const user = userEvent.setup();
    render(<Cautions cautions={report.cautions} />);
    const button = (): HTMLButtonElement => screen.getByRole("button");
    expect(report.cautions.length).toBe(4);
    expect(button().disabled).toBe(true);
    const items = screen.getAllByRole("listitem");
    act(() => observers[0]!.see(items.slice(0, 3)));
    expect(button().disabled).toBe(true);
    act(() => observers[0]!.see(items.slice(3)));
    await user.click(button());
    expect(screen.queryAllByRole("listitem")).toHaveLength(0);
    await user.click(button());
    expect(screen.getAllByRole("listitem")).toHaveLength(4);
  });

  it("open anew where the bench calls for another", () => {
    localStorage.setItem("rouse-cautions-read", "static");
    render(<Cautions cautions={report.cautions} />);
    expect(screen.getAllByRole("listitem")).toHaveLength(4);
  });
});
