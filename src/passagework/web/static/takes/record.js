// The microphone: samples as they are, without the changes that are made for speech, kept as a WAV file.

import { wav } from "/static/takes/wav.js";

const LONGEST_S = 3600;
const SOFTEST_DB = -60;

export const time = seconds => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

/** Begin to record; `level` gets 0 to 1 now and then, `failed` an Error that ends it. */
export async function recorder(level, failed) {
  if (!navigator.mediaDevices?.getUserMedia || !window.AudioWorkletNode)
    throw new Error("This browser cannot record. Record with another program and bring the file.");
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({
      audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 },
    });
  } catch (error) {
    throw new Error(error.name === "NotFoundError"
      ? "No microphone is found. Join one to this machine, and try again."
      : "The microphone may not be used. Allow it for this page in the browser, and try again.");
  }
  const context = new AudioContext();
  const parts = [];
  let count = 0, loudest = 0;
  let node;
  const end = async () => {
    for (const track of stream.getTracks()) track.stop();
    if (context.state !== "closed") await context.close();
  };
  try {
    await context.audioWorklet.addModule("/static/takes/samples.js");
    if (context.state === "suspended") await context.resume();
    node = new AudioWorkletNode(context, "samples", { numberOfOutputs: 0 });
  } catch {
    await end();
    throw new Error("The microphone could not be read. Record with another program and bring the file.");
  }
  node.port.onmessage = ({ data }) => {
    parts.push(data.samples);
    count += data.samples.length;
    loudest = Math.max(loudest, data.peak);
    level(data.peak ? Math.max(0, 1 + 20 * Math.log10(data.peak) / -SOFTEST_DB) : 0);
    if (count > LONGEST_S * context.sampleRate) {
      end();
      failed(new Error("That is longer than an hour; record the piece alone."));
    }
  };
  stream.getTracks()[0].addEventListener("ended", () => { end(); failed(new Error("The microphone was taken away; nothing is kept.")); });
  context.createMediaStreamSource(stream).connect(node);
  const rate = context.sampleRate;
  return {
    tell: seconds => `Recording, ${time(seconds)}${seconds > 4 && loudest < 0.01 ? ". Hardly anything is heard: put the microphone nearer." : loudest > 0.99 ? ". It is too loud for the microphone: move it away." : ""}`,
    cancel: end,
    async finish() {
      await end();
      if (!count) throw new Error("Nothing was recorded.");
      return { blob: wav(parts, count, rate), name: "recorded.wav" };
    },
  };
}
