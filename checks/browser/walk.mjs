// A whole job, from booking in to handing over: once by keyboard alone, once without any script; on an engine of the
// invented shop, and on one typed in from scratch.

/** The engine that is typed in: a Tarn four under another name, as a manual would print it. */
const BY_HAND = [
  ['fill', 'Name of the engine', 'Tarn four, typed in'],
  ['choose', 'The manual’s figures are in', /inch/i],
  ['fill', 'Stroke', '3.0000'],
  ['choose', 'Layout', /(four|4).*(line)/i],
  ['fill', 'Smallest new main size', '2.1245'],
  ['fill', 'Largest new main size', '2.1250'],
  ['fill', 'Length of one main', '1.10'],
  ['fill', 'Undersizes for the mains', '0.010, 0.020, 0.030, 0.040'],
  ['fill', 'Smallest new pin size', '1.8745'],
  ['fill', 'Largest new pin size', '1.8750'],
  ['fill', 'Length of one pin', '0.95'],
  ['fill', 'Undersizes for the pins', '0.010, 0.020, 0.030, 0.040'],
  ['fill', 'Most out-of-round allowed', '0.0005'],
  ['fill', 'Most taper allowed', '0.0005'],
];

/** Books a crank in. Returns how many actions it took: a field filled or chosen, a button pressed. */
export async function bookIn(hand, { customer, engine = null }) {
  let actions = 0;
  await hand.go('link', 'Book in');
  if (engine) {
    await hand.choose('Engine', engine);
    actions += 1;
  }
  await hand.fill('Customer', customer);
  actions += 1;
  if (!engine) {
    await hand.open('Type a new engine in');
    for (const [what, label, words] of BY_HAND) await hand[what](label, words);
    actions += BY_HAND.length + 1;
  }
  await hand.go('button', 'Book in');
  return actions + 2;
}
