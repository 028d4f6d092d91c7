import { routeTo } from "../../app/route.ts";
import { useJob } from "../../job/job.ts";
import type { WorkbenchReport } from "../../job/types.ts";
import { Empty, Loading, Problem } from "../../parts/states.tsx";
import { bytesInWords, listed } from "../../parts/words.ts";
import { ConditionMark, kindInWords } from "./condition.tsx";

type Used = WorkbenchReport["images"][number];

/** All files in the job's `images/`, with what the bench makes of them. */
export function ImageList() {
  const { images, chain, problem } = useJob();
  if (!images) return problem ? <Problem sentence={problem} /> : <Loading what="Looking for images…" />;
  const isAt = (file: string | undefined, name: string): boolean => file?.replace(/^\.\//, "") === `images/${name}`;
  const used = (name: string): Used | undefined => chain?.images.find(({ file }) => isAt(file, name));
  const roms = chain?.drawing?.computer?.regions.filter(({ file }) => file !== undefined) ?? [];
  const named = (name: string): string => {
    const regions = roms.filter(({ file }) => isAt(file, name)).map((each) => each.name);
    const image = used(name);
    const as = [...(image ? [image.name] : []), ...(regions.length > 0 ? [`ROM of ${listed(regions)}`] : [])];
    return as.length > 0 ? `On this bench: ${as.join("; ")}` : "Not named in the bench file";
  };
  const absent = [...(chain?.images ?? []), ...roms].filter(({ file }) => !images.some(({ name }) => isAt(file, name)));
  return (
    <div className="image-list">
      <h1>Images</h1>
      {images.length === 0 && (
        <Empty title="No images yet">
          <p>
            Put disk images into the folder <code>images</code> of this job; they appear here at once. Nothing is ever
            changed by looking.
          </p>
        </Empty>
      )}
      <ul>
        {images.map(({ name, size, problem: why }) => {
          const found = used(name);
          return (
            <li key={name} className="card">
              <h2>{why ? name : <a href={routeTo(["images", name])}>{name}</a>}</h2>
              <p>{bytesInWords(size)}</p>
              {why && <p className="is-bad">{why}</p>}
              {found?.kind && (
                <p>
                  {kindInWords(found.kind)}
                  {found.format ? `, ${found.format}` : ""}
                </p>
              )}
              {found?.condition && <ConditionMark condition={found.condition as "whole"} />}
              <p className="card-note">{named(name)}</p>
            </li>
          );
        })}
      </ul>
      {absent.map(({ name, file }) => (
        <p key={name} className="absent">
          The bench file names <code>{file}</code> as “{name}”, but there is no such file.
        </p>
      ))}
    </div>
  );
}
