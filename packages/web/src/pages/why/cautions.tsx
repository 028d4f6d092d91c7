import type { WhyCaution } from "@rouse/core/diagnose/why";

/** What to read before anything is done. */
export function CautionList({ cautions }: { cautions: readonly WhyCaution[] }) {
  if (cautions.length === 0) return null;
  return (
    <ul className="why-cautions" aria-label="Cautions">
      {cautions.map(({ code, title, sentence }) => (
        <li key={code}>
          <strong>▲ {title}.</strong> {sentence}
        </li>
      ))}
    </ul>
  );
}
