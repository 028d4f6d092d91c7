/** Colours of the style sheet, by the names of their variables, as a canvas takes them: they follow the theme. */
export function readInks<Name extends string>(
  element: HTMLElement,
  variables: Readonly<Record<Name, string>>,
): Record<Name, string> {
  const probe = document.createElement("span");
  element.append(probe);
  const inks = {} as Record<Name, string>;
  for (const name of Object.keys(variables) as Name[]) {
    probe.style.color = `var(${variables[name]})`;
    inks[name] = getComputedStyle(probe).color;
  }
  probe.remove();
  return inks;
}

/** Text of the page's own face on a canvas: "600 12px …". */
export const faceOf = (element: HTMLElement, variable: "--humanist" | "--mono"): string =>
  getComputedStyle(element).getPropertyValue(variable).trim() || "sans-serif";

/** A canvas made as large as it is shown and cleared, in CSS pixels whatever the screen's own are. */
export function prepareCanvas(
  canvas: HTMLCanvasElement | null,
): { pen: CanvasRenderingContext2D; width: number; height: number } | undefined {
  const pen = canvas?.getContext("2d");
  if (!canvas || !pen) return undefined;
  const scale = window.devicePixelRatio || 1;
  const [width, height] = [canvas.clientWidth, canvas.clientHeight];
  canvas.width = Math.round(width * scale);
  canvas.height = Math.round(height * scale);
  pen.setTransform(scale, 0, 0, scale, 0, 0);
  pen.clearRect(0, 0, width, height);
  return { pen, width, height };
}

/** About `most` round places on an axis: 1, 2 or 5 times a power of ten apart. */
export function roundPlaces(from: number, to: number, most: number): number[] {
  const raw = (to - from) / Math.max(1, most);
  if (!(raw > 0) || !Number.isFinite(raw)) return [];
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = ([1, 2, 5, 10].find((each) => each * power >= raw * 0.999) ?? 10) * power;
  const places: number[] = [];
  for (let k = Math.ceil(from / step - 1e-9); k * step <= to + step * 1e-9 && places.length < 200; k++)
    places.push(k * step || 0);
  return places;
}
