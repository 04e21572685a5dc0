// The click: a short knock, higher on the first beat of a bar.

const PITCHES = [1100, 1300, 1650]; // hertz, by accent
const LASTS = 0.045;

/** Knock at `when` on the context's clock; gives what can still be called off. */
export function knock(context, out, when, accent) {
  const tone = context.createOscillator(), shape = context.createGain();
  tone.type = "triangle";
  tone.frequency.value = PITCHES[accent] ?? PITCHES[0];
  shape.gain.setValueAtTime(0, when);
  shape.gain.linearRampToValueAtTime(accent === 2 ? 0.5 : 0.34, when + 0.002);
  shape.gain.exponentialRampToValueAtTime(0.001, when + LASTS);
  tone.connect(shape).connect(out);
  tone.start(when);
  tone.stop(when + LASTS + 0.01);
  return tone;
}
