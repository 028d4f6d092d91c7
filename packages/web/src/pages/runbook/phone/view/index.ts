export { useEffect, useId, useMemo, useRef, useState, useSyncExternalStore } from "./hooks.ts";
export { Fragment } from "./jsx.ts";
