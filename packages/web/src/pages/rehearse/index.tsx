import { useEffect } from "react";
import { routeTo } from "../../app/route.ts";
import { useJob } from "../../job/job.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { Controls } from "./controls.tsx";
import { DrivePicture } from "./drive.tsx";
import { Honest } from "./honest.tsx";
import { type MachineState, machine, useMachine } from "./machine.ts";
import { Latches, MapInWords, MemoryMapPicture } from "./memory-map.tsx";
import { Code, MemoryBytes, Registers } from "./processor.tsx";
import { Terminal } from "./terminal.tsx";
import "../../parts/forms.css";
import "./rehearse.css";

/** Columns of all screens, beyond which the drives stand below. */
const WIDE = 100;
/** Registers that point into memory, of the three CPUs; shown on the map where the CPU has them. */
const POINTERS = ["PC", "S", "SP", "U"];

export default function RehearsePage() {
  const { text, report } = useJob();
  const state = useMachine();
  // Who leaves the page finds the machine as it was.
  useEffect(() => () => machine.ask({ kind: "pause" }), []);
  const canStart = text !== "" && report !== null;
  return (
    <div className="page-stack">
      <h1>Rehearse</h1>
      {state.problem && <Problem sentence={state.problem} />}
      {state.power === "off" && (
        <div className="panel">
          <p className="lead">
            The bench as a running machine: its CPU on its memory, its ROMs, its disk in its drive, and its terminals at
            the true rate of their lines. Nothing is at risk: the disk is a copy.
          </p>
          <button type="button" className="button" disabled={!canStart} onClick={() => machine.switchOn(text)}>
            Switch it on
          </button>
        </div>
      )}
      {state.power === "starting" && <Loading what="Wiring the machine up…" />}
      {state.power === "on" && <Running state={state} text={text} />}
      <Honest assumed={state.about?.assumed ?? []} />
    </div>
  );
}

function Running({ state, text }: { state: MachineState; text: string }) {
  const { about, frame, notice } = state;
  if (!about || !frame) return <Loading what="Wiring the machine up…" />;
  const { terminals = [], picture, state: now } = frame;
  const marks = now.registers
    .filter(({ name }) => POINTERS.includes(name))
    .map(({ name, value }) => ({ name, at: value }));
  // Several screens, or a wide one, need all the room there is.
  const isWide = about.terminals.reduce((sum, { columns }) => sum + columns, 0) > WIDE;
  const drives = about.drives.length > 0 && (
    <section className="panel rehearse-drives" aria-label="Drives">
      <h2>Drives</h2>
      <div className={isWide ? "drives is-row" : "drives"}>
        {about.drives.map((shape, index) => (
          <DrivePicture key={shape.name} shape={shape} view={now.drives[index]!} />
        ))}
      </div>
    </section>
  );
  return (
    <>
      {state.text !== text && (
        <p className="notice rehearse-notice">
          The bench file was changed since this machine was switched on.{" "}
          <button type="button" className="button is-quiet" onClick={() => machine.switchOn(text)}>
            Switch the changed one on
          </button>
        </p>
      )}
      <Controls frame={frame} fast={state.fast} onAnew={() => machine.switchOn(text)} onOff={machine.switchOff} />
      <div aria-live="polite">{notice && <p className="notice is-bad rehearse-notice">{notice}</p>}</div>
      <div className={isWide || !drives ? "rehearse-desk is-full" : "rehearse-desk"}>
        <div className="rehearse-terminals">
          {about.terminals.length === 0 && (
            <p className="quiet">
              No terminal is on this bench; describe one under <code>terminals</code>, and its cable, on the page{" "}
              <a href={routeTo(["bench"])}>Bench file</a>.
            </p>
          )}
          {about.terminals.map((each) => {
            const shown = terminals.find(({ name }) => name === each.name);
            return shown && <Terminal key={each.name} about={each} shown={shown} />;
          })}
        </div>
        {!isWide && drives}
      </div>
      <div className="rehearse-inside">
        <div className="rehearse-column">
          <section className="panel" aria-label="The CPU">
            <h2>
              {about.cpu} at {Number((about.hertz / 1e6).toPrecision(4))} MHz
            </h2>
            <Registers state={now} />
            <Code frame={frame} breakpoints={state.breakpoints} />
            <MemoryBytes memory={frame.memory ?? null} />
          </section>
          {isWide && drives}
        </div>
        <section className="panel" aria-label="Memory">
          <h2>What the CPU sees</h2>
          {picture && (
            <>
              <MemoryMapPicture picture={picture} marks={marks} />
              <Latches picture={picture} />
              <details>
                <summary>The map as a list</summary>
                <MapInWords picture={picture} />
              </details>
            </>
          )}
        </section>
      </div>
    </>
  );
}
