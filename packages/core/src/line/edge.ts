/**
 * Current of a V.28 driver while its output moves, A. The MC1488 data sheet's application notes: 330 pF on an output at
 * its limit current give 30 V/µs, which is 9.9 mA.
 */
const DRIVER_CURRENT = 10e-3;

/** Between −3 V and +3 V a receiver may take either level (V.28). */
const TRANSITION = 6;

/** Seconds in which a V.28 driver takes a line of this capacitance (F) through the transition region. */
export const edgeTime = (capacitance: number): number => (TRANSITION * capacitance) / DRIVER_CURRENT;
