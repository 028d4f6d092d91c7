import type { StretchView } from "./use-stretch.ts";

/** Nearer, farther, whole: for those who use neither keys nor a wheel. */
export function ZoomButtons({
  view,
  at,
  nearest,
}: {
  view: StretchView;
  /** The point that stays where it is. */
  at: number;
  /** A span to go to at once, with its name. */
  nearest?: { span: number; name: string };
}) {
  const button = (name: string, label: string, act: () => void, disabled: boolean) => (
    <button type="button" className="button is-quiet" aria-label={label} onClick={act} disabled={disabled}>
      {name}
    </button>
  );
  return (
    <div className="buttons">
      {button("+", "Nearer", () => view.zoom(0.5, at), false)}
      {button("−", "Farther", () => view.zoom(2, at), view.isWhole)}
      {button("Whole", "The whole", view.reset, view.isWhole)}
      {nearest &&
        button(
          nearest.name,
          nearest.name,
          () => view.set({ from: at - nearest.span / 2, span: nearest.span }),
          view.span <= nearest.span,
        )}
    </div>
  );
}
