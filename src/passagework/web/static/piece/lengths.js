// The sound in lengths of a few seconds, each hand apart, fetched a little ahead of the ear.
//
// A length holds the notes that begin in it, to their very end: neighbouring lengths overlap and are simply added.

export const HANDS = ["right", "left"];
const AHEAD = 9;      // seconds that are fetched ahead
const KEPT = 60;      // lengths kept when they were played
const FADE = 0.03;    // seconds over which a pass ends

export class Lengths {
  constructor(context, timeline, address) {
    Object.assign(this, { context, timeline, address });
    this.buffers = new Map();
  }

  /** The sound of one hand in one length. */
  buffer(hand, at) {
    const key = `${hand} ${at}`;
    let found = this.buffers.get(key);
    if (!found) {
      found = fetch(this.address(`/sound/${hand}/${at}.wav`)).then(async answer => {
        if (!answer.ok) throw new Error((await answer.json().catch(() => ({}))).error || "The sound did not come.");
        return this.context.decodeAudioData(await answer.arrayBuffer());
      });
      found.catch(() => this.buffers.delete(key));
      this.buffers.set(key, found);
      if (this.buffers.size > KEPT) this.buffers.delete(this.buffers.keys().next().value);
    }
    return found;
  }

  /** Which length a moment lies in. */
  at(seconds) {
    return Math.max(0, Math.min(this.timeline.lengths.length - 1, Math.floor(seconds / this.timeline.length)));
  }

  /** Fetch what sounds first after a moment. */
  first(seconds) {
    const at = this.at(seconds);
    const near = [at - 1, at].filter(n => n >= 0);
    return Promise.all(HANDS.flatMap(hand => near.map(n => this.buffer(hand, n))));
  }
}

/** One pass through a stretch: what lies from `from` to `to` sounds from the context's time `starts` on. */
export class Pass {
  constructor(lengths, gains, from, to, starts) {
    Object.assign(this, { lengths, from, to, starts });
    this.ends = starts + (to - from);
    this.asked = new Set();
    this.sources = new Set();
    const context = lengths.context;
    this.out = Object.fromEntries(HANDS.map(hand => {
      const out = context.createGain();
      out.connect(gains[hand]);
      out.gain.setValueAtTime(1, Math.max(0, this.ends - FADE));
      if (to < lengths.timeline.duration - 0.01) out.gain.linearRampToValueAtTime(0, this.ends);
      return [hand, out];
    }));
  }

  /** Schedule what is due soon; `problem` hears of what did not come. */
  fill(problem) {
    const { context, timeline } = this.lengths;
    const here = this.from + Math.max(0, context.currentTime - this.starts);
    timeline.lengths.forEach((start, at) => {
      if (start >= this.to || start > here + AHEAD || this.asked.has(at)) return;
      if (at < this.lengths.at(this.from) - 1) return;
      this.asked.add(at);
      for (const hand of HANDS)
        this.lengths.buffer(hand, at).then(buffer => this.schedule(hand, buffer, start)).catch(problem);
    });
  }

  schedule(hand, buffer, start) {
    if (this.over) return;
    const context = this.lengths.context;
    const late = Math.max(0, context.currentTime + 0.005 - this.starts);
    const skip = Math.max(0, this.from + late - start);
    if (skip >= buffer.duration) return;
    const source = context.createBufferSource();
    source.buffer = buffer;
    source.connect(this.out[hand]);
    source.start(this.starts + Math.max(start - this.from, late), skip);
    if (this.to < this.lengths.timeline.duration - 0.01) source.stop(this.ends);
    source.onended = () => this.sources.delete(source);
    this.sources.add(source);
  }

  /** End at once. */
  stop() {
    this.over = true;
    const now = this.lengths.context.currentTime;
    for (const out of Object.values(this.out)) {
      out.gain.cancelScheduledValues(now);
      out.gain.setTargetAtTime(0, now, FADE / 3);
    }
    for (const source of this.sources) try { source.stop(now + FADE * 2); } catch { /* it had not begun */ }
  }
}
