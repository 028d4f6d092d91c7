import { formatDuration } from "@rouse/core/quantity";
import { printStretch } from "@rouse/core/show/clock";
import { type Draft, editScript, type SceneKey, type ScriptEdit, type TopKey } from "@rouse/core/show/script";
import { useRef } from "react";
import type { PlanTold } from "./types.ts";

type Planned = PlanTold["plan"]["scenes"][number];

const TOP: readonly (readonly [TopKey, string, string])[] = [
  ["title", "Title", ""],
  ["ends", "Must be over at", "15:30"],
  ["spare", "Kept free at the end", "3 min"],
  ["words", "Words spoken a minute", "130"],
  ["typing", "Characters typed a second", "3"],
];
const SCENE: readonly (readonly [SceneKey, string, string])[] = [
  ["name", "Name", ""],
  ["do", "Do with the hands", ""],
  ["takes", "That takes", "20 s"],
  ["type", "Type, Return after it", ""],
  ["wait", "Wait for", "boot, login, load NAME, 40 s"],
  ["prints", "Characters printed", "160"],
  ["expect", "Expect", "login: "],
];

/** The script as fields, scene by scene, each with what it comes to. */
export function Scenes({
  draft,
  text,
  plan,
  onText,
}: {
  draft: Draft;
  text: string;
  plan: PlanTold | null;
  onText: (next: string, where: string) => void;
}) {
  const list = useRef<HTMLOListElement>(null);
  const edit = (change: ScriptEdit, where = ""): void => onText(editScript(text, change), where);
  /** Goes to a scene's name when it is there. */
  const goTo = (index: number): void => {
    requestAnimationFrame(() => list.current?.children[index]?.querySelector("input")?.focus());
  };
  // A plan of another number of scenes is that of an older text.
  const planned = plan?.plan.scenes.length === draft.scenes.length ? plan.plan.scenes : undefined;
  return (
    <div className="script-fields">
      <div className="fields">
        {TOP.map(([key, label, hint]) => (
          <label key={key} className="field">
            <span>{label}</span>
            <input
              value={draft.top[key] ?? ""}
              placeholder={hint}
              onChange={(event) => edit({ top: key, value: event.target.value }, key)}
            />
          </label>
        ))}
      </div>
      <ol ref={list} className="scenes">
        {draft.scenes.map((scene, index) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: scenes have no name of their own but their place
          <li key={index} className="scene">
            <h3>
              {index + 1}. {scene.name ?? "without a name"}
            </h3>
            <div className="fields">
              {SCENE.map(([key, label, hint]) => (
                <label key={key} className={`field is-${key}`}>
                  <span>{label}</span>
                  <input
                    value={scene[key] ?? ""}
                    placeholder={hint}
                    spellCheck={key === "name" || key === "do"}
                    onChange={(event) => edit({ scene: index, key, value: event.target.value }, `${index} ${key}`)}
                  />
                </label>
              ))}
              <label className="field is-say">
                <span>Say</span>
                <textarea
                  rows={3}
                  value={scene.say ?? ""}
                  onChange={(event) => edit({ scene: index, key: "say", value: event.target.value }, `${index} say`)}
                />
              </label>
            </div>
            {planned?.[index] && <SceneTold planned={planned[index]} />}
            <div className="buttons">
              <button
                type="button"
                className="button is-quiet"
                disabled={index === 0}
                onClick={() => {
                  edit({ move: index, to: index - 1 });
                  goTo(index - 1);
                }}
              >
                Earlier
              </button>
              <button
                type="button"
                className="button is-quiet"
                disabled={index === draft.scenes.length - 1}
                onClick={() => {
                  edit({ move: index, to: index + 1 });
                  goTo(index + 1);
                }}
              >
                Later
              </button>
              <button
                type="button"
                className="button is-quiet"
                onClick={() => {
                  edit({ add: index + 1 });
                  goTo(index + 1);
                }}
              >
                Scene after this
              </button>
              <button
                type="button"
                className="button is-quiet"
                disabled={draft.scenes.length === 1}
                onClick={() => {
                  edit({ remove: index });
                  goTo(Math.max(0, index - 1));
                }}
              >
                Take it out
              </button>
            </div>
          </li>
        ))}
      </ol>
      {draft.scenes.length === 0 && (
        <button type="button" className="button" onClick={() => edit({ add: 0 })}>
          A first scene
        </button>
      )}
    </div>
  );
}

function SceneTold({
  planned: { start, hands, wait, modelled, speech, silence, known, missing },
}: {
  planned: Planned;
}) {
  const facts = [
    `At ${printStretch(start)}`,
    ...(hands >= 0.5 ? [`hands ${formatDuration(hands)}`] : []),
    ...(wait.high > 0 || !known
      ? [
          `wait ${known ? "" : "at least "}${formatDuration(wait.usual)}${formatDuration(wait.low) === formatDuration(wait.high) ? "" : ` (${formatDuration(wait.low)} to ${formatDuration(wait.high)})`}`,
        ]
      : []),
    ...(modelled && modelled.high > 0 ? [`by the timing model ${formatDuration(modelled.usual)}`] : []),
    ...(speech > 0 ? [`words ${formatDuration(speech)}`] : []),
  ];
  return (
    <p className="scene-told">
      {facts.join(", ")}.{silence >= 1 && <strong> ▲ Up to {formatDuration(silence)} more to talk through.</strong>}
      {!known && <span> ○ Not known: {missing.join(", ")}.</span>}
    </p>
  );
}
