import { Terminal } from "@xterm/xterm";
import { cspNonce } from "../../app/nonce.ts";

/** Colours of single letters: the widget writes them as text into style attributes, which the content policy refuses. */
Object.defineProperty(HTMLSpanElement.prototype, "setAttribute", {
  configurable: true,
  writable: true,
  value(this: HTMLSpanElement, name: string, value: string) {
    if (name === "style") this.style.cssText = value;
    else Element.prototype.setAttribute.call(this, name, value);
  },
});

/**
 * Puts a terminal into the page. The style elements that it makes meanwhile get the page's nonce, without which the
 * content policy refuses them; the widget has no option that reaches all of them.
 */
export function openTerminal(terminal: Terminal, place: HTMLElement): void {
  document.createElement = ((name: string, options?: ElementCreationOptions): HTMLElement => {
    const made: HTMLElement = Document.prototype.createElement.call(document, name, options);
    if (made instanceof HTMLStyleElement) made.nonce = cspNonce();
    return made;
  }) as typeof document.createElement;
  try {
    terminal.open(place);
  } finally {
    // The prototype's again.
    Reflect.deleteProperty(document, "createElement");
  }
}

const SCROLLED_BACK = 5000;
/** Ratio that text keeps to what is behind it, whatever colours a program asks for (WCAG 2.2, 1.4.3). */
const CONTRAST = 4.5;
const SMALLEST = 10;
const LARGEST = 22;

/** Size of letters at which so many columns fill a width, px: never too small to read; then the screen scrolls sideways. */
export function letterSize(width: number, columns: number, family: string): number {
  const context = document.createElement("canvas").getContext("2d");
  if (!context) return SMALLEST;
  context.font = `100px ${family}`;
  const letter = context.measureText("M").width / 100;
  return Math.max(SMALLEST, Math.min(LARGEST, Math.floor(((width - 2) / columns / letter) * 4) / 4));
}

/** Colours of the shell, as the browser makes them of the theme. */
export function coloursOf(place: Element): {
  foreground: string;
  background: string;
  cursor: string;
  selectionBackground: string;
} {
  const { color, backgroundColor, accentColor } = getComputedStyle(place);
  return { foreground: color, background: backgroundColor, cursor: color, selectionBackground: accentColor };
}

export interface Keys {
  /** What keys send. */
  typed(keys: string): void;
  /** What the screen answers to a program that asks it something. */
  answered(reply: string): void;
  /** Keys of the page's own; true where it was one. */
  own(event: KeyboardEvent): boolean;
}

/** A screen of the terminal's real size. */
export function makeTerminal(size: { columns: number; rows: number }, keys: Keys): Terminal {
  const terminal = new Terminal({
    cols: size.columns,
    rows: size.rows,
    scrollback: SCROLLED_BACK,
    minimumContrastRatio: CONTRAST,
    logLevel: "off",
  });
  let isAnswering = false;
  terminal.onData((data) => (isAnswering ? keys.answered(data) : keys.typed(data)));
  terminal.onBinary((data) => keys.typed(data));
  terminal.attachCustomKeyEventHandler((event) => !keys.own(event));
  // Requests that a screen answers (ECMA-48 8.3.24 DA, 8.3.35 DSR, and private ones): the widget's answer is told apart
  // from keys. It answers within the same turn.
  const mark = (): boolean => {
    isAnswering = true;
    queueMicrotask(() => {
      isAnswering = false;
    });
    return false;
  };
  const { parser } = terminal;
  for (const id of [
    { final: "c" },
    { prefix: ">", final: "c" },
    { prefix: "=", final: "c" },
    { final: "n" },
    { prefix: "?", final: "n" },
    { prefix: ">", final: "q" },
    { final: "t" },
    { intermediates: "$", final: "p" },
    { prefix: "?", intermediates: "$", final: "p" },
  ])
    parser.registerCsiHandler(id, mark);
  parser.registerDcsHandler({ intermediates: "$", final: "q" }, mark);
  for (const number of [4, 10, 11, 12]) parser.registerOscHandler(number, mark);
  parser.registerEscHandler({ final: "Z" }, mark);
  return terminal;
}
