import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const view = (file: string): string =>
  fileURLToPath(new URL(`src/pages/runbook/phone/view/${file}.ts`, import.meta.url));

/**
 * The page that phones get: one script and one style sheet beside the workbench's files. The parts that it shares with the
 * workbench are drawn by its own small library, so that a slow phone has it within a second.
 */
export default defineConfig({
  resolve: {
    alias: [
      { find: /^react\/jsx-runtime$/, replacement: view("jsx") },
      { find: /^react-dom\/client$/, replacement: view("dom") },
      { find: /^react$/, replacement: view("index") },
    ],
  },
  build: {
    outDir: "dist",
    emptyOutDir: false,
    target: ["chrome123", "firefox120", "safari17.5"],
    modulePreload: false,
    assetsInlineLimit: 0,
    rolldownOptions: { input: "phone.html" },
  },
});
