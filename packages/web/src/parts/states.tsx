import type { ReactNode } from "react";

export function Loading({ what }: { what: string }) {
  return (
    <p className="state" role="status">
      <span className="state-pulse" aria-hidden="true" />
      {what}
    </p>
  );
}

export function Problem({ sentence, children }: { sentence: string; children?: ReactNode }) {
  return (
    <div className="state is-problem" role="alert">
      <p>{sentence}</p>
      {children}
    </div>
  );
}

export function Empty({ title, children }: { title: string; children: ReactNode }) {
  return (
    <div className="empty">
      <h2>{title}</h2>
      {children}
    </div>
  );
}
