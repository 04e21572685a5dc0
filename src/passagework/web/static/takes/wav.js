// A WAV file of 16 bits and one channel (RIFF, WAVE_FORMAT_PCM).

/** `parts` are Int16Arrays with `count` samples in all, at `rate` a second. */
export function wav(parts, count, rate) {
  const head = new DataView(new ArrayBuffer(44));
  const word = (at, text) => [...text].forEach((letter, k) => head.setUint8(at + k, letter.charCodeAt(0)));
  const bytes = count * 2;
  word(0, "RIFF");
  head.setUint32(4, 36 + bytes, true);
  word(8, "WAVEfmt ");
  head.setUint32(16, 16, true);
  head.setUint16(20, 1, true);
  head.setUint16(22, 1, true);
  head.setUint32(24, rate, true);
  head.setUint32(28, rate * 2, true);
  head.setUint16(32, 2, true);
  head.setUint16(34, 16, true);
  word(36, "data");
  head.setUint32(40, bytes, true);
  return new Blob([head.buffer, ...parts], { type: "audio/wav" });
}
