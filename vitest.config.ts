import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";
import { yamlForVite } from "./scripts/yaml-plugin.mjs";

const project = (name: string, include: string[], extra: object = {}) => ({
  plugins: [yamlForVite],
  root: fileURLToPath(new URL(".", import.meta.url)),
  test: { name, include, testTimeout: 60_000, hookTimeout: 60_000, ...extra },
});

export default defineConfig({
  test: {
    // Much of a test is waiting: for a port, a page, another program.
    maxWorkers: 3,
    projects: [
      project("core", ["packages/core/src/**/*.test.ts"]),
      project("node", ["packages/node/src/**/*.test.ts"], { globalSetup: "scripts/tests-need.mjs" }),
      project("web", ["packages/web/src/**/*.test.{ts,tsx}"], { environment: "jsdom" }),
      project("checks", ["checks/**/*.test.ts", "demo/**/*.test.ts", "speed/**/*.test.ts"], {
        globalSetup: "scripts/tests-need.mjs",
      }),
      project("browser", ["packages/web/browser/**/*.test.ts"], {
        testTimeout: 120_000,
        globalSetup: "scripts/tests-need.mjs",
      }),
    ],
  },
});
