import { useSyncExternalStore } from "react";

/** Where in the workbench: `#/images/tern.img?file=sys%2Fboot`. */
export interface Route {
  /** Decoded parts of the path: `["images", "tern.img"]`. */
  parts: readonly string[];
  query: URLSearchParams;
}

export function parseRoute(hash: string): Route {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?");
  const decode = (part: string): string => {
    try {
      return decodeURIComponent(part);
    } catch {
      return part;
    }
  };
  return { parts: path.split("/").filter(Boolean).map(decode), query: new URLSearchParams(query) };
}

export function routeTo(parts: readonly string[], query: Readonly<Record<string, string | undefined>> = {}): string {
  const given = Object.entries(query).filter((each): each is [string, string] => each[1] !== undefined);
  const search = new URLSearchParams(given).toString();
  return `#/${parts.map(encodeURIComponent).join("/")}${search ? `?${search}` : ""}`;
}

const listen = (told: () => void): (() => void) => {
  window.addEventListener("hashchange", told);
  return () => window.removeEventListener("hashchange", told);
};

let last: { hash: string; route: Route } | undefined;
const current = (): Route => {
  if (last?.hash !== location.hash) last = { hash: location.hash, route: parseRoute(location.hash) };
  return last.route;
};

export const useRoute = (): Route => useSyncExternalStore(listen, current);

/** Goes elsewhere; `replace` leaves no step for the Back button, for choices within a page. */
export function go(address: string, how: "push" | "replace" = "push"): void {
  if (how === "push") location.hash = address;
  else {
    history.replaceState(null, "", address);
    window.dispatchEvent(new HashChangeEvent("hashchange"));
  }
}
