import react from "@vitejs/plugin-react";
import { defineConfig } from "vite";
import { yamlForVite } from "../../scripts/yaml-plugin.mjs";

export default defineConfig({
  plugins: [yamlForVite, react()],
  // The rehearsal's worker reads bench files, and so the catalogue.
  worker: { format: "es", plugins: () => [yamlForVite] },
  build: {
    outDir: "dist",
    emptyOutDir: true,
    target: ["chrome123", "firefox120", "safari17.5"],
    modulePreload: { polyfill: false },
    // The content policy allows no font or script from a data address.
    assetsInlineLimit: 0,
    // The editor, the bench schema and the catalogue: loaded with the bench page only.
    chunkSizeWarningLimit: 900,
  },
});
