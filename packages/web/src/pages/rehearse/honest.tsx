/** What is simulated and what is not: the same words as in `rouse rehearse --help` and docs/rehearsal.md. */
export function Honest({ assumed }: { assumed: readonly string[] }) {
  return (
    <section className="panel" aria-label="What this shows">
      <h2>What this shows, and what it cannot</h2>
      <p className="lead">
        Simulated are the CPU by whole instructions with the cycles of its data sheet, memory, latches and translation,
        the serial parts bit by bit through the cable’s wires to the terminal, timers, and the disk’s head, turn and bus
        by the model of the page Time. Not simulated are electrical margins, noise and wear, the signal on the disk
        below its sectors, video, sound and printers, parts that are not in the bench file, and chips’ behaviour that no
        data sheet states. A rehearsal that works shows that the logic of the bench holds together; it cannot show that
        the iron does. The disk is a copy: nothing that is done here changes the job.
      </p>
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
