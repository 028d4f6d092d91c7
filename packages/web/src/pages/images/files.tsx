import type { SurveyedVolume } from "@rouse/core/volume";
import { useMemo, useState } from "react";
import { Button, Collection, Switch, Tree, TreeItem, TreeItemContent } from "react-aria-components";
import { counted } from "../../parts/words.ts";
import { ConditionMark } from "./condition.tsx";
import { FileView } from "./file-view.tsx";
import { type Node, treeOf } from "./tree.ts";

const AT_FIRST = 400;

/** The files on the left, the selected one on the right. */
export function Files({
  volume,
  name,
  within,
  selected,
  onSelect,
}: {
  volume: SurveyedVolume;
  name: string;
  within: string;
  selected: number;
  onSelect: (index: number) => void;
}) {
  const [deleted, setDeleted] = useState(false);
  const [most, setMost] = useState(AT_FIRST);
  const { entries, counts } = volume;
  const { roots, left } = useMemo(() => treeOf(entries, deleted, most), [entries, deleted, most]);
  const folders = useMemo(
    () => new Set(entries.flatMap(({ type }, index) => (type === "folder" ? [`${index}`] : []))),
    [entries],
  );
  const entry = entries[selected];
  if (entries.length === 0) return <p className="state">This volume holds no files.</p>;
  return (
    <div className="files">
      <div className="file-list">
        {counts.deleted > 0 && (
          <Switch className="switch" isSelected={deleted} onChange={setDeleted}>
            <span className="switch-track" />
            Show deleted files ({counts.deleted})
          </Switch>
        )}
        <Tree
          key={folders.size}
          className="tree"
          aria-label="Files of this volume"
          items={roots}
          selectionMode="single"
          selectionBehavior="replace"
          selectedKeys={selected < 0 ? [] : [`${selected}`]}
          defaultExpandedKeys={folders}
          onSelectionChange={(keys) => {
            const [key] = keys === "all" ? [] : keys;
            if (key !== undefined) onSelect(Number(key));
          }}
        >
          {renderNode}
        </Tree>
        {left > 0 && (
          <Button className="button is-quiet" onPress={() => setMost((before) => before + AT_FIRST)}>
            Show more ({left} left)
          </Button>
        )}
      </div>
      {entry ? (
        <FileView key={`${selected}`} entry={entry} nested={volume.nested} name={name} within={within} />
      ) : (
        <p className="state file-none">
          Select a file here, or a sector on the disk, to see what it holds and where it lies.
        </p>
      )}
    </div>
  );
}

function renderNode(node: Node) {
  const { entry, leaf, index, children } = node;
  return (
    <TreeItem id={`${index}`} textValue={leaf} className={entry.deleted ? "tree-row is-deleted" : "tree-row"}>
      <TreeItemContent>
        {entry.type === "folder" && (
          <Button slot="chevron" className="chevron" aria-label={`Open or close ${leaf}`}>
            <svg viewBox="0 0 10 10" aria-hidden="true">
              <path d="M3 1.5 7 5 3 8.500" />
            </svg>
          </Button>
        )}
        <span className="tree-name">{leaf}</span>
        <span className="tree-kind">
          {entry.deleted ? "deleted " : ""}
          {entry.kind}
        </span>
        <span className="tree-size">
          {entry.type === "folder" ? counted(children.length, "entry", "entries") : entry.size.toLocaleString("en-GB")}
        </span>
        <span className="tree-condition">
          {entry.condition !== "whole" && <ConditionMark condition={entry.condition} />}
        </span>
      </TreeItemContent>
      <Collection items={children}>{renderNode}</Collection>
    </TreeItem>
  );
}
