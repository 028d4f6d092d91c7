import { useState } from "react";
import { Radio, RadioGroup } from "react-aria-components";
import { applyTheme, rememberedTheme, type Theme } from "./theme.ts";

const CHOICES: readonly (readonly [Theme, string, string])[] = [
  ["auto", "As the system", "M8 2.500a5.500 5.500 0 0 0 0 11zM8 2.500a5.500 5.500 0 0 1 0 11"],
  [
    "light",
    "Light",
    "M8 5a3 3 0 1 0 0 6a3 3 0 0 0 0-6zM8 1v1.500M8 13.500V15M1 8h1.500M13.500 8H15M3 3l1 1M12 12l1 1M13 3l-1 1M4 12l-1 1",
  ],
  ["dark", "Dark", "M12.500 10.500A5.500 5.500 0 0 1 6 2.800a5.500 5.500 0 1 0 6.500 7.700z"],
];

export function ThemeSwitch() {
  const [theme, setTheme] = useState(rememberedTheme);
  const choose = (value: string): void => {
    setTheme(value as Theme);
    applyTheme(value as Theme);
  };
  return (
    <RadioGroup
      className="theme-switch"
      aria-label="Light or dark"
      value={theme}
      onChange={choose}
      orientation="horizontal"
    >
      {CHOICES.map(([value, label, path]) => (
        <Radio key={value} value={value} aria-label={label}>
          <svg viewBox="0 0 16 16" aria-hidden="true" className={`theme-${value}`}>
            <title>{label}</title>
            <path d={path} />
          </svg>
        </Radio>
      ))}
    </RadioGroup>
  );
}
