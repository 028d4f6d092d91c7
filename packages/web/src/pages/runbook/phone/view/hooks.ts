/** States of parts, by the order in which a part asks for them. */
type Cleanup = (() => void) | undefined;

interface Hook {
  value?: unknown;
  deps?: readonly unknown[] | undefined;
  cleanup?: Cleanup;
}

export type Hooks = Hook[];

let current: Hooks | undefined;
let index = 0;
let names = 0;
let waiting: (() => void)[] = [];
let again: (() => void) | undefined;
let isAsked = false;

/** Runs a part with its own states. */
export function withHooks<T>(hooks: Hooks, what: () => T): T {
  const before = [current, index] as const;
  [current, index] = [hooks, 0];
  try {
    return what();
  } finally {
    [current, index] = before;
  }
}

/** Runs what waited for the page to be drawn; `redraw` is what a change of any state then asks for. */
export function runEffects(redraw: () => void): void {
  again = redraw;
  const now = waiting;
  waiting = [];
  for (const effect of now) effect();
}

/** The part is gone. */
export function unhook(hooks: Hooks): void {
  for (const hook of hooks) hook.cleanup?.();
}

function changed(): void {
  if (isAsked) return;
  isAsked = true;
  // Changes of one moment are drawn together.
  queueMicrotask(() => {
    isAsked = false;
    again?.();
  });
}

function hook(make: () => Hook): Hook {
  if (!current) throw new Error("a state was asked for outside of a part");
  const hooks = current;
  const found = hooks[index] ?? make();
  hooks[index] = found;
  index += 1;
  return found;
}

const differ = (before: readonly unknown[] | undefined, after: readonly unknown[] | undefined): boolean =>
  !before || !after || before.length !== after.length || before.some((each, place) => !Object.is(each, after[place]));

const startOf = <T>(start: T | (() => T)): T => (typeof start === "function" ? (start as () => T)() : start);

export function useState<T>(start: T | (() => T)): [T, (next: T | ((before: T) => T)) => void] {
  const mine = hook(() => ({ value: startOf(start) }));
  return [
    mine.value as T,
    (next) => {
      const value = typeof next === "function" ? (next as (before: T) => T)(mine.value as T) : next;
      if (Object.is(value, mine.value)) return;
      mine.value = value;
      changed();
    },
  ];
}

export const useRef = <T>(start: T): { current: T } =>
  hook(() => ({ value: { current: start } })).value as { current: T };

export function useMemo<T>(make: () => T, deps: readonly unknown[]): T {
  const mine = hook(() => ({}));
  if (differ(mine.deps, deps)) {
    mine.value = make();
    mine.deps = deps;
  }
  return mine.value as T;
}

export function useEffect(effect: () => Cleanup, deps?: readonly unknown[]): void {
  const mine = hook(() => ({}));
  if (!differ(mine.deps, deps)) return;
  mine.deps = deps;
  waiting.push(() => {
    mine.cleanup?.();
    mine.cleanup = effect();
  });
}

export function useSyncExternalStore<T>(subscribe: (told: () => void) => () => void, get: () => T): T {
  const value = get();
  useEffect(() => subscribe(changed), [subscribe]);
  return value;
}

export function useId(): string {
  const mine = hook(() => {
    names += 1;
    return { value: `part-${names}` };
  });
  return mine.value as string;
}
