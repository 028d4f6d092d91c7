import { simulated } from "@rouse/core/rehearse/simulated";

/** What is simulated and what is not, and what of this bench is taken for granted. */
export function Honest({ assumed }: { assumed: readonly string[] }) {
  return (
    <section className="panel" aria-label="What this shows">
      <h2>What this shows, and what it cannot</h2>
      <p className="lead">{simulated("the page Time")}</p>
      {assumed.length > 0 && (
        <>
          <h3>Taken for granted</h3>
          <ul className="assumed">
            {assumed.map((each) => (
              <li key={each}>{each}</li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}
