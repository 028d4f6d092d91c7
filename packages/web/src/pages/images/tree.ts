import type { SurveyedEntry } from "@rouse/core/volume";

/** An entry with those that lie in it; `index` is its place in the survey. */
export interface Node {
  index: number;
  entry: SurveyedEntry;
  leaf: string;
  children: Node[];
}

/** Files and folders as a tree, in the order of the volume, folders of a level first; at most `most` in all. */
export function treeOf(
  entries: readonly SurveyedEntry[],
  deleted: boolean,
  most: number,
): { roots: Node[]; left: number } {
  const shown = entries.map((entry, index) => ({ entry, index })).filter(({ entry }) => deleted || !entry.deleted);
  const byPath = new Map<string, Node>();
  const roots: Node[] = [];
  const nodes = shown.slice(0, most).map(({ entry, index }): Node => {
    const node = { index, entry, leaf: entry.path.slice(entry.path.lastIndexOf("/") + 1), children: [] };
    if (entry.type === "folder") byPath.set(entry.path, node);
    return node;
  });
  for (const node of nodes) {
    const cut = node.entry.path.lastIndexOf("/");
    const parent = cut < 0 ? undefined : byPath.get(node.entry.path.slice(0, cut));
    // A file whose folder is gone stands at the top under its whole path.
    if (parent && parent !== node) parent.children.push(node);
    else roots.push(cut < 0 ? node : { ...node, leaf: node.entry.path });
  }
  return { roots, left: shown.length - nodes.length };
}

/** A path as a part of an address inside an image. */
export const escapePart = (path: string): string => path.replaceAll(":", "%3A").replace(/^@/, "%40");
