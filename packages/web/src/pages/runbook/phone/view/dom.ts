/**
 * Draws views into the document and keeps them up to date. It stands in for the workbench's library on the phone's page, which has
 * to be there in a second over a slow network: this is a thirtieth of it. The whole page is described anew at every change and only what
 * differs is touched, which is quick enough for the hundred elements of a step.
 */

import { type Hooks, runEffects, unhook, withHooks } from "./hooks.ts";
import { type Child, Fragment, type Part, type View } from "./jsx.ts";

/** What is drawn: an element, a text, a part, or nothing (null). */
interface Drawn {
  of: View | string | null;
  /** Of an element or a text. */
  node: Element | Text | null;
  kids: Drawn[];
  hooks: Hooks | undefined;
}

const SVG = "http://www.w3.org/2000/svg";
/** Names that are written otherwise in the document. */
const NAMES: Readonly<Record<string, string>> = { className: "class", htmlFor: "for" };
const LISTENERS = new WeakMap<Element, Map<string, (event: Event) => void>>();
const CHOOSERS = /^(checkbox|radio|file)$/;

const keyOf = (view: Drawn["of"], index: number): string =>
  typeof view === "object" && view?.key !== undefined ? `key ${view.key}` : `at ${index}`;
const typeOf = (view: Drawn["of"]): unknown => (typeof view === "object" ? view?.type : "text");

/** One child for each place, so that what is left out moves nothing else. */
function childrenOf(child: Child): Drawn["of"][] {
  const list: readonly Child[] = Array.isArray(child) ? child : [child as Child];
  return list.map((each): Drawn["of"] => {
    if (each === null || each === undefined || typeof each === "boolean") return null;
    if (Array.isArray(each)) return { type: Fragment, props: { children: each as readonly Child[] }, key: undefined };
    return typeof each === "object" ? (each as View) : String(each);
  });
}

const nodesOf = ({ node, kids }: Drawn): (Element | Text)[] => (node ? [node] : kids.flatMap(nodesOf));

function forget(drawn: Drawn): void {
  if (drawn.hooks) unhook(drawn.hooks);
  setRef(drawn.of, null);
  for (const kid of drawn.kids) forget(kid);
}

function setRef(of: Drawn["of"], node: Element | null): void {
  if (typeof of !== "object" || typeof of?.type !== "string") return;
  const ref = of.props.ref as { current: unknown } | undefined;
  if (ref) ref.current = node;
}

function listen(element: Element, name: string, handler: unknown): void {
  const chooses =
    element instanceof HTMLSelectElement || (element instanceof HTMLInputElement && CHOOSERS.test(element.type));
  const event = name === "onChange" && !chooses ? "input" : name.slice(2).toLowerCase();
  let known = LISTENERS.get(element);
  if (!known) {
    known = new Map();
    LISTENERS.set(element, known);
  }
  const all = known;
  if (!all.has(event)) element.addEventListener(event, (told) => all.get(event)?.(told));
  all.set(event, (handler ?? (() => {})) as (event: Event) => void);
}

function style(element: HTMLElement | SVGElement, now: Record<string, string | number>): void {
  for (const [name, value] of Object.entries(now)) {
    const property = name.startsWith("--") ? name : name.replace(/[A-Z]/g, (each) => `-${each.toLowerCase()}`);
    element.style.setProperty(property, String(value));
  }
}

function attribute(element: Element, name: string, value: unknown): void {
  if (/^on[A-Z]/.test(name)) listen(element, name, value);
  else if (name === "style") style(element as HTMLElement, (value ?? {}) as Record<string, string | number>);
  else if (
    value === undefined ||
    value === null ||
    (value === false && !name.startsWith("aria-") && name !== "spellCheck")
  )
    element.removeAttribute(NAMES[name] ?? name);
  else {
    const inHtml = element.namespaceURI === SVG ? name : name.toLowerCase();
    const text = value === true && !name.startsWith("aria-") ? "" : String(value);
    element.setAttribute(NAMES[name] ?? inHtml, text);
  }
}

/** `type` first, since it decides what a change is; what a field holds last, when its choices are there. */
function dress(element: Element, before: View["props"], after: View["props"]): void {
  const names = [...new Set(["type", ...Object.keys(before), ...Object.keys(after)])];
  for (const name of names) {
    if (name === "children" || name === "ref" || name === "key" || name === "value" || name === "checked") continue;
    if (before[name] !== after[name]) attribute(element, name, after[name]);
  }
}

function fill(element: Element, { value, checked }: View["props"]): void {
  const field = element as HTMLInputElement;
  if (value !== undefined && element.localName === "progress") field.setAttribute("value", String(value));
  else if (value !== undefined && field.value !== String(value)) field.value = String(value);
  if (checked !== undefined) field.checked = checked === true;
}

/** Puts the children into their order; what is no longer among them goes. */
function arrange(parent: Element, nodes: readonly (Element | Text)[]): void {
  let at = parent.firstChild;
  for (const node of nodes) {
    if (node === at) at = at.nextSibling;
    else parent.insertBefore(node, at);
  }
  while (at) {
    const next = at.nextSibling;
    at.remove();
    at = next;
  }
}

function drawKids(before: readonly Drawn[], children: Child, inSvg: boolean): Drawn[] {
  const old = new Map(before.map((each, index) => [keyOf(each.of, index), each]));
  const kids = childrenOf(children).map((view, index) => {
    const key = keyOf(view, index);
    const found = old.get(key);
    const same =
      found && (found.of === null) === (view === null) && typeOf(found.of) === typeOf(view) ? found : undefined;
    if (same) old.delete(key);
    return draw(same, view, inSvg);
  });
  for (const gone of old.values()) forget(gone);
  return kids;
}

function draw(before: Drawn | undefined, of: Drawn["of"], inSvg: boolean): Drawn {
  if (of === null) return { of, node: null, kids: [], hooks: undefined };
  if (typeof of === "string") {
    const node = (before?.node as Text | undefined) ?? document.createTextNode(of);
    if (node.data !== of) node.data = of;
    return { of, node, kids: [], hooks: undefined };
  }
  if (typeof of.type !== "string") {
    const part: Part = of.type;
    const hooks = before?.hooks ?? [];
    const child = withHooks(hooks, () => part(of.props));
    return { of, node: null, kids: drawKids(before?.kids ?? [], child, inSvg), hooks };
  }
  const svg = inSvg || of.type === "svg";
  const old = before?.of as View | undefined;
  const element =
    (before?.node as Element | undefined) ??
    (svg ? document.createElementNS(SVG, of.type) : document.createElement(of.type));
  dress(element, old?.props ?? {}, of.props);
  const kids = drawKids(before?.kids ?? [], of.props.children, svg);
  arrange(element, kids.flatMap(nodesOf));
  fill(element, of.props);
  setRef(of, element);
  return { of, node: element, kids, hooks: undefined };
}

export interface Root {
  render(view: View): void;
}

/** A place in the document that shows a view, and follows its states. */
export function createRoot(place: Element): Root {
  let drawn: Drawn | undefined;
  return {
    render(view) {
      drawn = draw(drawn, view, false);
      arrange(place, nodesOf(drawn));
      runEffects(() => this.render(view));
    },
  };
}
