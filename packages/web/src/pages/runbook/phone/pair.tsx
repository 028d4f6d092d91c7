import { type FormEvent, useState } from "react";
import { ask, sending, sentenceOf } from "../../../job/api.ts";
import { sync } from "../use-run-book.ts";

/** Asks for the code that the computer shows. */
export function Pair() {
  const [code, setCode] = useState("");
  const [problem, setProblem] = useState("");
  const [isBusy, setBusy] = useState(false);
  const digits = code.replace(/\D/g, "");
  const pair = async (event: FormEvent): Promise<void> => {
    event.preventDefault();
    setBusy(true);
    try {
      await ask("pair", sending("POST", { code: digits }));
      await sync();
    } catch (error) {
      setProblem(sentenceOf(error));
      setCode("");
    }
    setBusy(false);
  };
  return (
    <main className="phone-page phone-pair">
      <h1>Pair this phone</h1>
      <p>On the computer, the page Run book shows a code under “A phone at the bench”.</p>
      <form onSubmit={(event) => void pair(event)}>
        <label className="field">
          <span>Code of six digits</span>
          <input
            value={code}
            inputMode="numeric"
            autoComplete="one-time-code"
            maxLength={9}
            onChange={(event) => {
              setCode(event.target.value);
              setProblem("");
            }}
          />
        </label>
        <button type="submit" className="button is-large" disabled={digits.length !== 6 || isBusy}>
          Pair
        </button>
      </form>
      {problem && (
        <p className="state is-problem" role="alert">
          {problem}
        </p>
      )}
    </main>
  );
}
