import { sentenceOf } from "../../job/api.ts";
import { inSeconds } from "../../parts/seconds.ts";
import { Problem } from "../../parts/states.tsx";
import { counted } from "../../parts/words.ts";
import { act } from "./act.ts";
import type { Transfer, Work } from "./types.ts";

const NAMES: Readonly<Record<Work["kind"], string>> = {
  paste: "Pasting",
  send: "Sending",
  receive: "Receiving",
  listen: "Finding the rate",
  test: "Testing the line",
};

/** "512 of 4,096 bytes, 12 %; 96 bytes a second, about 37 s left" */
export function progressInWords({ bytes, length }: Transfer, took: number): string {
  const whole = (value: number): string => Math.round(value).toLocaleString("en-GB");
  const speed = took > 0 ? (bytes / took) * 1000 : 0;
  const pace = took >= 1000 ? `; ${whole(speed)} bytes a second` : "";
  if (length === null) return `${counted(bytes, "byte")}${pace}`;
  const left = speed > 0 && took >= 1000 && bytes < length ? `, about ${inSeconds((length - bytes) / speed)} left` : "";
  return `${whole(bytes)} of ${counted(length, "byte")}, ${length > 0 ? Math.floor((bytes / length) * 100) : 100} %${pace}${left}`;
}

/** How far the work is, from 0 to 1; undefined where that cannot be said. */
function shareOf({ kind, transfer, test }: Work): number | undefined {
  if (kind === "test" && test) return test.results.length / test.rates.length;
  if (!transfer?.length) return undefined;
  const one = transfer.bytes / transfer.length;
  return transfer.files && transfer.files > 1 ? Math.min(1, (transfer.arrived + one) / transfer.files) : one;
}

/** What is under way on the port, wherever one looks. */
export function WorkStrip({
  port,
  work,
  onProblem,
}: {
  port: string;
  work: Work;
  onProblem: (sentence: string) => void;
}) {
  const share = shareOf(work);
  const { transfer } = work;
  const files =
    transfer && transfer.files !== null && transfer.files > 1 ? ` (${transfer.arrived + 1} of ${transfer.files})` : "";
  return (
    <section className="panel line-work" aria-label="Under way">
      <p>
        <strong>
          {NAMES[work.kind]}
          {transfer && work.kind !== "paste" && ` ${transfer.file || "a file"}${files} by ${transfer.protocol}`}
        </strong>
      </p>
      <progress {...(share === undefined ? {} : { value: Math.min(1, share) })} max={1} aria-label={NAMES[work.kind]} />
      <p data-testid="work">
        {transfer
          ? transfer.bytes === 0 && work.kind !== "paste"
            ? "Waiting for the other end"
            : progressInWords(transfer, work.took)
          : `${inSeconds(work.took / 1000)} so far`}
        {transfer &&
          transfer.retries > 0 &&
          `; ${counted(transfer.retries, "block")} again, the last because ${transfer.lastRetry}`}
      </p>
      <button
        type="button"
        className="button is-quiet"
        onClick={() => act("stop", { port }).catch((error: unknown) => onProblem(sentenceOf(error)))}
      >
        {work.kind === "receive" && transfer?.protocol === "text" ? "That is all of it" : "Stop"}
      </button>
    </section>
  );
}

/** What came of the last transfer. */
export function TransferEnd({ work }: { work: Work }) {
  const { transfer, state, problem, took } = work;
  if (!transfer || state === "running") return null;
  const time = inSeconds(Math.max(0.1, took / 1000));
  const through =
    transfer.files !== null && transfer.files > 1 ? `${transfer.arrived} of ${transfer.files} files` : transfer.file;
  return (
    <div role="status" data-testid="transfer-end">
      {state === "done" ? (
        <p>
          {work.kind === "receive" ? "Received" : work.kind === "paste" ? "Pasted" : "Sent"}:{" "}
          {work.kind === "paste" ? "" : `${through}, `}
          {counted(transfer.bytes, "byte")} in {time}
          {transfer.retries > 0 && `, ${counted(transfer.retries, "block")} again`}.
        </p>
      ) : (
        <Problem sentence={`${problem ?? "It was stopped."}${transfer.arrived > 0 ? ` ${through} arrived.` : ""}`} />
      )}
    </div>
  );
}
