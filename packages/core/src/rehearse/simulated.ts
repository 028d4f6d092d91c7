/**
 * What a rehearsal simulates and what it does not: the command and the page say it, and docs/rehearsal.md. `time` names where the
 * model of the disk's time is, as the reader knows it.
 */
export const simulated = (time: string): string =>
  `Simulated are the CPU by whole instructions with the cycles of its data sheet, memory, latches and translation, the serial parts bit by bit through the wires of the cable to the terminal, timers, and head, turn and bus of the disk by the model of ${time}. Not simulated are electrical margins, noise and wear, the signal on the disk below its sectors, video, sound and printers, parts that are not in the bench file, and what chips do that no data sheet states. A rehearsal that works shows that the logic of the bench holds together; it cannot show that the iron does. The disk is a copy: nothing that is done here changes the job.`;
