import { Component, type ReactNode } from "react";
import { Problem } from "../parts/states.tsx";

/** A page that fails leaves the rest of the workbench standing. */
export class Boundary extends Component<{ children: ReactNode }, { failed: boolean }> {
  override state = { failed: false };

  static getDerivedStateFromError(): { failed: boolean } {
    return { failed: true };
  }

  override render(): ReactNode {
    if (!this.state.failed) return this.props.children;
    return (
      <Problem sentence="This page could not be shown. The rest of the workbench still works.">
        <button type="button" className="button" onClick={() => location.reload()}>
          Load it anew
        </button>
      </Problem>
    );
  }
}
