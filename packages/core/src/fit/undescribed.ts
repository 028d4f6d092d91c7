import type { Bench } from "../bench/index.ts";
import type { Link } from "./types.ts";

/** Keys of the bench file that would describe a link of which no check had anything to say. */
export function keysThatDescribe(link: Link, bench: Bench): readonly string[] {
  const { images, drives, ports, terminals, cables, show } = bench;
  const ofImages = (key: string): string[] => images.map(({ path }) => `${path}.${key}`);
  switch (link) {
    case "image":
      return ["images"];
    case "medium":
      return images.length > 0 ? ofImages("medium") : ["images", "media"];
    case "drive":
      return images.length > 0 ? ofImages("drive") : ["images", "drives"];
    case "bus":
      return drives.length > 0 ? ["buses"] : ["drives", "buses"];
    case "board":
      return ["computer.boards", "computer.supply"];
    case "memory":
      return ["computer.memory"];
    case "system":
      return images.length > 0 ? ofImages("file") : ["images"];
    case "port":
      return ports.length > 0 ? ["cables"] : ["ports"];
    case "cable":
      return ["cables"];
    case "terminal":
      return cables.length > 0 || terminals.length === 0 ? ["terminals"] : ["cables"];
    case "audience":
      return show ? ["show.port", "show.terminal"] : ["show"];
  }
}
