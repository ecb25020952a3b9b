// What the invented cranks measure, spot by spot, as the micrometer shows it.

/** Sizes in tenths of a thou: what a journal was when new, and what is gone from each. */
const TARN = {
  main: { new: 21248, gone: [5, 14, 17, 12, 2] },
  pin: { new: 18748, gone: [38, 61, 41, 33] },
};

/** The spot that a label names: `Main 3, rear, across A`. */
export function spotOf(label) {
  const found = label.match(/(Main|Pin|Big end|Rod journal) (\d+), (front|middle|rear), across ([AB])/);
  if (!found) return null;
  const [, name, number, station, across] = found;
  return { name, set: name === 'Main' ? 'main' : 'pin', number: Number(number), station, across };
}

/** Tenths of a thou as the micrometer shows them. */
export const typed = (tenths) => `${Math.floor(tenths / 10000)}.${String(tenths % 10000).padStart(4, '0')}`;

/** The worn size at a spot of a Tarn four: most gone in line with the throw, a little taper. */
export function worn(spot) {
  const { new: fresh, gone } = TARN[spot.set];
  const most = gone[spot.number - 1];
  const here = spot.across === 'A' ? most : Math.round(most / 2);
  return typed(fresh - here - (spot.station === 'rear' ? 1 : 0));
}

/** The same, a turn of the thimble out. */
export function aTurnOut(spot) {
  return typed(Math.round(Number(worn(spot)) * 10000) + 250);
}
