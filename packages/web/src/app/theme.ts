export type Theme = "auto" | "light" | "dark";

const KEY = "rouse-theme";

const isTheme = (text: string | null): text is Theme => text === "auto" || text === "light" || text === "dark";

export function rememberedTheme(): Theme {
  const kept = localStorage.getItem(KEY);
  return isTheme(kept) ? kept : "auto";
}

/** `auto` follows the person's system. */
export function applyTheme(theme: Theme): void {
  if (theme === "auto") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = theme;
  localStorage.setItem(KEY, theme);
  window.dispatchEvent(new Event("rouse-theme"));
}
