export { BenchPage as default } from "./bench-page.tsx";
