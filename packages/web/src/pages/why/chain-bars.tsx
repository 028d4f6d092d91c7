import type { WhyTold } from "@rouse/core/diagnose/why";
import type { CSSProperties } from "react";
import type { Link } from "../../job/types.ts";
import { upperFirst } from "../../parts/words.ts";
import { percent } from "./words.ts";

/** The chain in the order in which it is drawn everywhere; the audience never has a fault. */
const ORDER: readonly Link[] = [
  "image",
  "medium",
  "drive",
  "bus",
  "board",
  "memory",
  "system",
  "port",
  "cable",
  "terminal",
];

/** How likely the fault lies in each link, as columns along the chain. A link that is pressed shows only its own causes. */
export function ChainBars({
  links,
  chosen,
  onChoose,
}: {
  links: WhyTold["links"];
  chosen: string | null;
  onChoose: (link: string | null) => void;
}) {
  const found = ORDER.flatMap((link) => links.find((each) => each.link === link) ?? []);
  return (
    <section className="panel" aria-labelledby="chain-title">
      <h2 id="chain-title">Where along the chain</h2>
      <ol className="why-chain" data-testid="why-chain">
        {found.map(({ link, chance }) => (
          <li key={link}>
            <button
              type="button"
              aria-pressed={chosen === link}
              aria-label={`${link}, ${percent(chance)}: show only its causes`}
              onClick={() => onChoose(chosen === link ? null : link)}
            >
              <span className="why-column" aria-hidden="true">
                <span style={{ "--share": chance } as CSSProperties} />
              </span>
              <span className="why-knot" aria-hidden="true" />
              <span className="why-link">{upperFirst(link)}</span>
              <span className="why-share">{percent(chance)}</span>
            </button>
          </li>
        ))}
      </ol>
    </section>
  );
}
