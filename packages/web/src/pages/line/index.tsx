import { useEffect, useRef, useState } from "react";
import { Tab, TabList, TabPanel, Tabs } from "react-aria-components";
import { go, routeTo, useRoute } from "../../app/route.ts";
import { ask, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { act } from "./act.ts";
import { Cable } from "./cable.tsx";
import { Choose } from "./choose.tsx";
import { forLine } from "./codes.ts";
import { Files } from "./files.tsx";
import { useHabits } from "./habits.ts";
import { HexView } from "./hex-view.tsx";
import { KeysPanel, sizesOf } from "./keys-panel.tsx";
import { LineTest } from "./line-test.tsx";
import { FIRST_PACE, paceAsked } from "./pace.ts";
import { Paste } from "./paste.tsx";
import { RateFinder } from "./rate-finder.tsx";
import { Screen, type ScreenActs } from "./screen.tsx";
import { SessionBar } from "./session-bar.tsx";
import { typeQueue } from "./type-queue.ts";
import type { BenchLines, ListedPort } from "./types.ts";
import { useLine } from "./use-line.ts";
import { WorkStrip } from "./work-view.tsx";
import "../../parts/forms.css";
import "../../parts/tabs.css";
import "./line.css";

interface Found {
  ports: readonly ListedPort[];
  rates: readonly number[];
}

export default function LinePage() {
  const { query } = useRoute();
  const { saved } = useJob();
  const port = query.get("port") ?? "";
  const line = useLine(port);
  const [found, setFound] = useState<Found | null>(null);
  const [bench, setBench] = useState<BenchLines | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const look = (): void => {
    ask<Found>("line").then(setFound, (error: unknown) => setProblem(sentenceOf(error)));
  };
  useEffect(look, []);
  const hash = saved?.hash;
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the bench file changed
  useEffect(() => {
    ask<BenchLines>("line/bench").then(setBench, (error: unknown) => setProblem(sentenceOf(error)));
  }, [hash]);
  const choose = (next: string): void =>
    go(routeTo(["line"], { port: next === "" ? undefined : next, size: query.get("size") ?? undefined }), "replace");
  // A port that another window has open is the one that is meant.
  const open = line.seats?.filter(({ state }) => state !== "closed") ?? [];
  const other = port === "" ? open[0]?.port : undefined;
  const first = port === "" ? (other ?? found?.ports[0]?.path) : undefined;
  // biome-ignore lint/correctness/useExhaustiveDependencies: once they are known
  useEffect(() => {
    if (first !== undefined) choose(first);
  }, [first]);

  return (
    <div className="page-stack line-page">
      <h1>Line</h1>
      <p className="lead">
        A session with what is at the other end of a serial line, kept byte by byte. It runs in the workbench's server:
        pages come and go, and several may look at it.
      </p>
      {line.connection === "lost" && <p className="line-bad">The session goes on unseen; trying to reach it again.</p>}
      {problem && <Problem sentence={problem} />}
      {!found || !line.seats ? (
        !problem && <Loading what="Looking for ports…" />
      ) : (
        <Desk line={line} port={port} found={found} bench={bench} hash={hash} onPort={choose} onLook={look} />
      )}
    </div>
  );
}

function Desk({
  line,
  port,
  found,
  bench,
  hash,
  onPort,
  onLook,
}: {
  line: ReturnType<typeof useLine>;
  port: string;
  found: Found;
  bench: BenchLines | null;
  hash: string | undefined;
  onPort: (port: string) => void;
  onLook: () => void;
}) {
  const { query } = useRoute();
  const seats = line.seats ?? [];
  const seat = seats.find((each) => each.port === port);
  const screen = bench?.screens[0];
  const [habits, setHabits] = useHabits(screen ? { code: `${screen.bits} bits`, capitals: screen.upperOnly } : {});
  const sizes = sizesOf(bench?.screens ?? []);
  const size = sizes.find(({ name }) => name === query.get("size")) ?? sizes[0]!;
  const [pace, setPace] = useState(FIRST_PACE);
  const [text, setText] = useState("");
  const [tab, setTab] = useState<string>("paste");
  const [problem, setProblem] = useState<string | null>(null);
  const leave = useRef<HTMLDivElement>(null);
  const work = seat?.work ?? null;
  const running = work?.state === "running" ? work : null;
  const isOpen = seat !== undefined && seat.state !== "closed";
  const takesFiles = running?.kind === "send" || running?.kind === "receive";

  const paste = (words: string): void => {
    setProblem(null);
    const { bytes, lost } = forLine(words.replaceAll("\r\n", "\n"), habits.code);
    if (lost !== "") tellLost(lost);
    act("paste", { port, text: bytes, ...paceAsked(pace) }).catch((error: unknown) => setProblem(sentenceOf(error)));
  };
  const tellLost = (lost: string): void =>
    setProblem(`“${[...lost].slice(0, 12).join("")}” has no place in a code of ${habits.code}, and was not sent.`);
  const [type] = useState(() => {
    const queues = new Map<string, (text: string) => void>();
    return (to: string, bytes: string): void => {
      const queue =
        queues.get(to) ??
        typeQueue(
          (part) => act("type", { port: to, text: part }),
          (error) => setProblem(sentenceOf(error)),
        );
      queues.set(to, queue);
      queue(bytes);
    };
  });
  const acts: ScreenActs = {
    onType: (bytes) => type(port, bytes),
    onPaste: paste,
    onLost: tellLost,
    onBreak: () => {
      act("break", { port }).catch((error: unknown) => setProblem(sentenceOf(error)));
    },
    onLeave: () => leave.current?.querySelector<HTMLElement>("[role=tab][aria-selected=true]")?.focus(),
  };

  return (
    <>
      {!isOpen && (
        <Choose
          ports={found.ports}
          rates={found.rates}
          seats={seats}
          bench={bench}
          port={port}
          onPort={onPort}
          onLook={onLook}
        />
      )}
      {seat?.problem && <Problem sentence={`The port could not be opened again: ${seat.problem}`} />}
      {seat && isOpen && (
        <>
          <SessionBar
            seat={seat}
            habits={habits}
            onHabits={setHabits}
            onProblem={setProblem}
            missed={line.stream.missed}
          />
          <div className={`line-views-shown is-${habits.view}`}>
            {habits.view !== "hex" && (
              <div className="line-text">
                <Screen
                  columns={size.columns}
                  rows={size.rows}
                  stream={line.stream}
                  habits={habits}
                  takesKeys={seat.state === "open" && !takesFiles}
                  answers={line.answers}
                  acts={acts}
                />
                <p className="quiet">
                  <kbd>Ctrl + .</kbd> leaves the screen, <kbd>Ctrl + Break</kbd> sends a break.
                  {takesFiles && " While a file is under way, keys are not sent."}
                </p>
              </div>
            )}
            {habits.view !== "text" && <HexView stream={line.stream} />}
          </div>
        </>
      )}
      {problem && <Problem sentence={problem} />}
      {running && <WorkStrip port={port} work={running} onProblem={setProblem} />}
      <div ref={leave} className="panel">
        <Tabs className="tabs" selectedKey={tab} onSelectionChange={(key) => setTab(String(key))}>
          <TabList aria-label="What to do on the line">
            <Tab id="paste">Paste</Tab>
            <Tab id="files">Files</Tab>
            <Tab id="rate">Which rate?</Tab>
            <Tab id="test">Line test</Tab>
            <Tab id="cable">Cable</Tab>
            <Tab id="keys">Screen and keys</Tab>
          </TabList>
          <TabPanel id="paste">
            <Paste
              text={text}
              onText={setText}
              pace={pace}
              onPace={setPace}
              ends={bench?.ends ?? []}
              settings={seat?.settings ?? undefined}
              isReady={seat?.state === "open" && !running}
              work={work}
              onPaste={paste}
            />
          </TabPanel>
          <TabPanel id="files">
            <Files
              port={port}
              settings={seat?.settings ?? undefined}
              isReady={seat?.state === "open" && !running}
              work={work}
              pace={pace}
              onPace={setPace}
              ends={bench?.ends ?? []}
              onProblem={setProblem}
            />
          </TabPanel>
          <TabPanel id="rate">
            <RateFinder
              port={port}
              isReady={port !== "" && !running}
              work={work}
              isOpen={isOpen}
              onProblem={setProblem}
            />
          </TabPanel>
          <TabPanel id="test">
            <LineTest
              port={port}
              rates={found.rates}
              frame={seat?.settings?.frame ?? "8N1"}
              isReady={port !== "" && !running}
              isOpen={isOpen}
              work={work}
              onProblem={setProblem}
            />
          </TabPanel>
          <TabPanel id="cable">
            <Cable bench={bench} hash={hash} />
          </TabPanel>
          <TabPanel id="keys">
            <KeysPanel
              habits={habits}
              onHabits={setHabits}
              sizes={sizes}
              size={size}
              onSize={(name) => go(routeTo(["line"], { port: port || undefined, size: name }), "replace")}
            />
          </TabPanel>
        </Tabs>
      </div>
    </>
  );
}
