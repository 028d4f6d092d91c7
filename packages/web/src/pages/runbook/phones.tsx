import { useEffect, useId, useState } from "react";
import { ask, sending, sentenceOf } from "../../job/api.ts";
import { followSocket } from "../../job/live.ts";
import { timeText } from "./step-parts.tsx";

/** What the server says of phones. */
interface PhonesTold {
  networks: readonly { address: string; prefix: number; isPublic: boolean }[];
  risks: readonly string[];
  open: {
    address: string;
    code: { code: string; until: string } | null;
    phones: readonly { id: string; name: string; since: string; seen: string }[];
  } | null;
}

const spaced = (code: string): string => `${code.slice(0, 3)} ${code.slice(3)}`;

/** Letting a phone in: the risks, the person's word, the address and the code. */
export function Phones() {
  const [told, setTold] = useState<PhonesTold | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const [now, setNow] = useState(() => Date.now());
  useEffect(
    () => followSocket("phones/live", { hear: (message) => setTold(message as PhonesTold), connection() {} }),
    [],
  );
  useEffect(() => {
    if (!told?.open?.code) return;
    setNow(Date.now());
    const timer = setInterval(() => setNow(Date.now()), 1000);
    return () => clearInterval(timer);
  }, [told]);
  const wish = (path: string, body: object = {}): void => {
    ask<PhonesTold>(`phones/${path}`, sending("POST", body)).then(
      (next) => {
        setTold(next);
        setProblem(null);
      },
      (error: unknown) => setProblem(sentenceOf(error)),
    );
  };
  if (!told) return null;
  const { open } = told;
  const left = open?.code ? Math.ceil((Date.parse(open.code.until) - now) / 1000) : 0;
  return (
    <details className="panel phones no-print" open={open !== null || undefined}>
      <summary>
        <strong>A phone at the bench</strong>{" "}
        <span className="quiet">
          {open === null
            ? "none is let in"
            : open.phones.length === 0
              ? "none is paired yet"
              : open.phones.length === 1
                ? "1 is paired"
                : `${open.phones.length} are paired`}
        </span>
      </summary>
      {open ? (
        <>
          <p>
            On the phone, in the same network, open <strong className="phone-address">{open.address}</strong>
          </p>
          {open.code && left > 0 ? (
            <p role="status">
              and type the code <strong className="phone-code">{spaced(open.code.code)}</strong>
              <span className="quiet" aria-hidden="true">
                {" "}
                for one phone, for {Math.floor(left / 60)}:{String(left % 60).padStart(2, "0")} more
              </span>
            </p>
          ) : (
            <p className="quiet">No code is open now.</p>
          )}
          {open.phones.length > 0 && (
            <ul className="phone-list">
              {open.phones.map(({ id, name, since, seen }) => (
                <li key={id}>
                  <span>
                    {name}, paired {timeText(since)}, last seen {timeText(seen)}
                  </span>
                  <button type="button" className="button is-quiet" onClick={() => wish("unpair", { phone: id })}>
                    Unpair {name}
                  </button>
                </li>
              ))}
            </ul>
          )}
          <div className="buttons">
            <button type="button" className="button is-quiet" onClick={() => wish("code")}>
              New code
            </button>
            <button type="button" className="button is-quiet" onClick={() => wish("close")}>
              Let no phone in any more
            </button>
          </div>
        </>
      ) : (
        <Ask told={told} onOpen={(address) => wish("open", { address, understood: true })} />
      )}
      {problem && (
        <p className="state is-problem" role="alert">
          {problem}
        </p>
      )}
    </details>
  );
}

function Ask({ told: { networks, risks }, onOpen }: { told: PhonesTold; onOpen: (address: string) => void }) {
  const [understood, setUnderstood] = useState(false);
  const [chosen, setChosen] = useState("");
  const name = useId();
  const address = networks.find((each) => each.address === chosen)?.address ?? networks[0]?.address;
  if (address === undefined) return <p>This computer is on no network that a phone could share with it.</p>;
  return (
    <form
      className="phone-ask"
      onSubmit={(event) => {
        event.preventDefault();
        if (understood) onOpen(address);
      }}
    >
      <p>The run book and the prompter, on a phone that can be held in one hand and takes photographs.</p>
      <ul className="phone-risks">
        {risks.map((each) => (
          <li key={each}>{each}</li>
        ))}
      </ul>
      {networks.length > 1 && (
        <fieldset>
          <legend>By which network</legend>
          {networks.map(({ address: each, prefix, isPublic }) => (
            <label key={each} className="tick">
              <input type="radio" name={name} checked={each === address} onChange={() => setChosen(each)} />
              <span>
                {each}/{prefix}
                {isPublic && " (a public address: others than the people in this room may be in that network)"}
              </span>
            </label>
          ))}
        </fieldset>
      )}
      {networks.length === 1 && (
        <p className="quiet">
          By the network of {address}
          {networks[0]?.isPublic && ", a public address: others than the people in this room may be in it"}.
        </p>
      )}
      <label className="tick">
        <input type="checkbox" checked={understood} onChange={(event) => setUnderstood(event.target.checked)} />
        <span>I have read this, and trust this network</span>
      </label>
      <button type="submit" className="button" disabled={!understood}>
        Let a phone in
      </button>
    </form>
  );
}
