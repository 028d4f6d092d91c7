import { createRoot } from "react-dom/client";
import { PhoneApp } from "./app.tsx";
import "./phone.css";

const root = document.getElementById("root");
if (root) createRoot(root).render(<PhoneApp />);
