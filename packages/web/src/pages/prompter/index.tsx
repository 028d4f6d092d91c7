import Prompter from "./prompter.tsx";
import "./prompter.css";

export default function PrompterPage() {
  return (
    <>
      <h1 className="sr-only">Prompter</h1>
      <Prompter />
    </>
  );
}
