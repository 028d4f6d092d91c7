import { useEffect, useMemo, useState } from "react";
import { Tab, TabList, TabPanel, Tabs } from "react-aria-components";
import { go, routeTo, useRoute } from "../../app/route.ts";
import { api, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import type { ImageReport } from "../../job/types.ts";
import { Empty, Loading, Problem } from "../../parts/states.tsx";
import { bytesInWords, counted } from "../../parts/words.ts";
import { ConditionMark, kindInWords } from "./condition.tsx";
import { diskOf } from "./disk-model.ts";
import { DiskPicture } from "./disk-picture.tsx";
import { Files } from "./files.tsx";
import { Damages, Evidence } from "./findings.tsx";
import { Needs } from "./needs.tsx";
import { System } from "./system.tsx";

/** An image, or with `within` (`path:`) the volume in one of its files. */
export function ImageView({ name, within }: { name: string; within: string }) {
  const { imagesChange } = useJob();
  const [report, setReport] = useState<ImageReport | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: read again when a file in images/ changed
  useEffect(() => {
    let left = false;
    api.imageReport(name, within).then(
      (found) => {
        if (left) return;
        setReport(found);
        setProblem(null);
      },
      (error: unknown) => {
        if (!left) setProblem(sentenceOf(error));
      },
    );
    return () => {
      left = true;
    };
  }, [name, within, imagesChange]);
  return (
    <div className="image-page">
      <Crumbs name={name} within={within} />
      {problem && <Problem sentence={problem} />}
      {!report && !problem && <Loading what={`Surveying ${name}…`} />}
      {report && <Surveyed report={report} name={name} within={within} />}
    </div>
  );
}

function Crumbs({ name, within }: { name: string; within: string }) {
  const inner = within.split(":").filter(Boolean);
  return (
    <nav className="crumbs" aria-label="Where this is">
      <ol>
        <li>
          <a href={routeTo(["images"])}>Images</a>
        </li>
        <li>
          {inner.length === 0 ? (
            <span aria-current="page">{name}</span>
          ) : (
            <a href={routeTo(["images", name])}>{name}</a>
          )}
        </li>
        {inner.map((part, index) => (
          <li key={inner.slice(0, index + 1).join(":")}>
            {index === inner.length - 1 ? (
              <span aria-current="page">{part}</span>
            ) : (
              <a href={routeTo(["images", name], { in: `${inner.slice(0, index + 1).join(":")}:` })}>{part}</a>
            )}
          </li>
        ))}
      </ol>
    </nav>
  );
}

function Surveyed({ report, name, within }: { report: ImageReport; name: string; within: string }) {
  const { query } = useRoute();
  const disk = useMemo(() => diskOf(report), [report]);
  const { volume, candidates } = report.survey;
  const wished = query.get("file");
  const selected = volume?.entries.findIndex(({ path }) => path === wished) ?? -1;
  const [cursor, setCursor] = useState<number | undefined>();
  const chosen = useMemo(() => {
    const own = disk?.blocks[selected];
    return new Set(own ? [...own.content, ...own.own] : []);
  }, [disk, selected]);

  const select = (index: number): void => {
    const path = volume?.entries[index]?.path;
    go(routeTo(["images", name], { in: within || undefined, file: path }), "replace");
  };
  const selectAndShow = (index: number): void => {
    select(index);
    const first = disk?.blocks[index]?.content[0] ?? disk?.blocks[index]?.own[0];
    if (first !== undefined) setCursor(first);
  };
  const choose = (block: number): void => {
    const owner = disk?.owners[block] ?? -1;
    if (owner >= 0) select(owner);
  };

  if (!volume || !disk)
    return (
      <>
        <Title report={report} />
        <Empty title="No volume was recognised">
          <p>
            Nothing in these {bytesInWords(report.size)} speaks strongly enough for a kind of volume that is known here.
          </p>
        </Empty>
        {candidates.length > 0 && <Evidence candidates={candidates} />}
      </>
    );
  return (
    <>
      <Title report={report} />
      <DiskPicture disk={disk} chosen={chosen} cursor={cursor} onCursor={setCursor} onChoose={choose} />
      <Tabs className="tabs">
        <TabList aria-label="What was found">
          <Tab id="files">Files</Tab>
          <Tab id="system">System</Tab>
          <Tab id="needs">Needs</Tab>
          <Tab id="damage">
            Damage{volume.damages.length > 0 && <span className="tab-count">{volume.damages.length}</span>}
          </Tab>
          <Tab id="evidence">Volume and evidence</Tab>
        </TabList>
        <TabPanel id="files">
          <Files volume={volume} name={name} within={within} selected={selected} onSelect={selectAndShow} />
        </TabPanel>
        <TabPanel id="system">
          <System report={report.system} />
        </TabPanel>
        <TabPanel id="needs">
          <Needs needs={report.needs} />
        </TabPanel>
        <TabPanel id="damage">
          <Damages damages={volume.damages} condition={volume.condition} onBlock={setCursor} />
        </TabPanel>
        <TabPanel id="evidence">
          <Evidence candidates={candidates} facts={volume.facts} sha256={report.sha256} />
        </TabPanel>
      </Tabs>
    </>
  );
}

function Title({ report }: { report: ImageReport }) {
  const { volume } = report.survey;
  return (
    <header className="image-head">
      <h1>{volume?.label || report.name.replace(/^.*[/:]/, "") || report.name}</h1>
      {volume && <ConditionMark condition={volume.condition} />}
      <p>
        {volume ? `${kindInWords(volume.kind)}, ${volume.format}; ` : ""}
        {bytesInWords(report.size)}
        {volume &&
          `; ${counted(volume.counts.files, "file")}, ${counted(volume.counts.folders, "folder")}${
            volume.freeBlocks === null ? "" : `, ${counted(volume.freeBlocks, "block")} free`
          }`}
      </p>
    </header>
  );
}
