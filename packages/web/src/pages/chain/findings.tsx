import { routeTo } from "../../app/route.ts";
import { useJob } from "../../job/job.ts";
import type { FindingWithPlace, LinkReport } from "../../job/types.ts";
import { VerdictMark } from "../../parts/verdict.tsx";
import { counted, upperFirst } from "../../parts/words.ts";
import { CableWhole } from "./cable-whole.tsx";

type Figure = FindingWithPlace["figures"][number];

/** A sentence of more characters is not set in bold. */
const LONG = 200;

/** All that was found about one link, the worst first. */
export function Findings({ of: { link, verdict, findings, missing }, file }: { of: LinkReport; file: string }) {
  const cable = useJob().chain?.drawing?.cable;
  return (
    <section className="findings" id="findings" aria-labelledby="findings-title">
      <header className="findings-head">
        <h2 id="findings-title">{upperFirst(link)}</h2>
        <VerdictMark verdict={verdict} />
        <span className="findings-count">{counted(findings.length, "finding")}</span>
      </header>
      {findings.length === 0 && (
        <div className="state">
          <p>The bench file describes nothing here that a check could judge, so it stays unknown.</p>
          <Missing keys={missing} />
        </div>
      )}
      <div className="findings-list">
        {link === "cable" && cable && <CableWhole cable={cable} />}
        {findings.map((each) => (
          <Finding key={each.id} finding={each} file={file} />
        ))}
      </div>
    </section>
  );
}

export function Finding({ finding, file }: { finding: FindingWithPlace; file: string }) {
  const { verdict, sentence, figures, formula, result, margin, remedy, caution, missing, sources, line, at } = finding;
  const hasArithmetic = figures.length > 0 || formula !== undefined || result !== undefined || margin !== undefined;
  return (
    <article className={`finding is-${verdict}`}>
      <header>
        <VerdictMark verdict={verdict} />
        {at !== undefined && (
          <a className="place" href={routeTo(["bench"], { key: at })}>
            {line === null ? at : `${file}, line ${line}`}
          </a>
        )}
      </header>
      <h3 className={sentence.length > LONG ? "is-long" : undefined}>{sentence}</h3>
      {caution && <p className="finding-caution">{caution}</p>}
      {remedy && (
        <p className="remedy">
          <strong>What to do:</strong> {remedy}
        </p>
      )}
      <Missing keys={missing} />
      {hasArithmetic && (
        <details className="arithmetic" open={verdict !== "runs"}>
          <summary>The arithmetic</summary>
          {figures.length > 0 && <Figures figures={figures} />}
          <dl>
            {formula && <Row label="Formula" value={formula} />}
            {result && <Row label="Result" value={result} />}
            {margin && <Row label="Margin" value={margin} />}
          </dl>
        </details>
      )}
      {sources.length > 0 && (
        <details className="sources">
          <summary>{counted(sources.length, "source")}</summary>
          <ul>
            {sources.map(({ id, title, kind }) => (
              <li key={id}>
                {title} <span className="kind">{kind === "memory" ? "from memory" : kind}</span>
              </li>
            ))}
          </ul>
        </details>
      )}
    </article>
  );
}

/** Keys of the bench file that would settle an unknown, each leading to its place in the editor. */
const Missing = ({ keys }: { keys: readonly string[] | undefined }) =>
  keys && keys.length > 0 ? (
    <p className="missing">
      <strong>Would be settled by:</strong>{" "}
      {keys.map((key, index) => (
        <span key={key}>
          {index > 0 && ", "}
          <a href={routeTo(["bench"], { key })}>
            <code>{key}</code>
          </a>
        </span>
      ))}
    </p>
  ) : null;

const Row = ({ label, value }: { label: string; value: string }) => (
  <div>
    <dt>{label}</dt>
    <dd>{value}</dd>
  </div>
);

function Figures({ figures }: { figures: readonly Figure[] }) {
  return (
    <table className="figures">
      <thead>
        <tr>
          <th scope="col">What</th>
          <th scope="col">Value</th>
          <th scope="col">Who says so</th>
        </tr>
      </thead>
      <tbody>
        {figures.map((each, index) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: two figures of a finding may be alike
          <tr key={index}>
            <th scope="row">{each.label}</th>
            <td>{each.value}</td>
            <td>
              <Who figure={each} />
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Who({ figure: { from, path, source } }: { figure: Figure }) {
  if (from === "bench")
    return path === undefined ? <>your bench file</> : <a href={routeTo(["bench"], { key: path })}>your bench file</a>;
  if (from === "image") return <>{path ? `the image: ${path}` : "the image"}</>;
  if (from === "arithmetic" && !source) return <>worked out</>;
  const kind = source?.kind === "memory" ? "from memory" : source?.kind;
  if (!source) return <>catalogue</>;
  return (
    <details className="who">
      <summary>
        {from === "catalogue" ? "catalogue" : "worked out"}, {kind}
      </summary>
      {source.title}
    </details>
  );
}
