import { StrictMode } from "react";
import { createRoot } from "react-dom/client";
import { App } from "./app/app.tsx";
import { applyTheme, rememberedTheme } from "./app/theme.ts";
import { job } from "./job/job.ts";
import "./app/base.css";
import "./app/shell.css";

applyTheme(rememberedTheme());
job.start();

const root = document.getElementById("root");
if (root)
  createRoot(root).render(
    <StrictMode>
      <App />
    </StrictMode>,
  );
