// In the sound thread: gathers samples and hands them over a tenth of a second at a time.

const EVERY = 4096;

class Samples extends AudioWorkletProcessor {
  constructor() {
    super();
    this.held = new Int16Array(EVERY);
    this.at = 0;
    this.peak = 0;
  }

  process([input]) {
    const channel = input[0];
    if (!channel) return true;
    for (const value of channel) {
      const most = Math.max(-1, Math.min(1, value));
      this.held[this.at++] = Math.round(most * 32767);
      this.peak = Math.max(this.peak, Math.abs(most));
      if (this.at === EVERY) {
        this.port.postMessage({ samples: this.held, peak: this.peak }, [this.held.buffer]);
        this.held = new Int16Array(EVERY);
        this.at = this.peak = 0;
      }
    }
    return true;
  }
}

registerProcessor("samples", Samples);
