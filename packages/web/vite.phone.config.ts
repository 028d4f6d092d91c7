import { defineConfig } from "vite";

/**
 * The page that phones get: one script and one style sheet beside the workbench's files. It is drawn by a small library that
 * takes React's place, so that a slow phone has it within a second.
 */
export default defineConfig({
  resolve: {
    alias: [
      { find: /^react\/jsx-runtime$/, replacement: "preact/jsx-runtime" },
      { find: /^react-dom\/client$/, replacement: "preact/compat/client" },
      { find: /^react$/, replacement: "preact/compat" },
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
