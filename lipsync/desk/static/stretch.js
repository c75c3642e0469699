// Makes sound slower without changing its pitch, by overlapping pieces of it.
//
// Every 20 ms, a piece of 40 ms is laid over the end of the piece before it, faded in while that one fades out. A piece is
// taken from the place that the slower sound has reached, moved by up to 12 ms to where it continues the sound best
// (overlap-add by similarity of waveforms: Verhelst and Roelands 1993, ICASSP, from memory). These places move evenly, so
// nothing drifts: the sound is never off by more than those 12 ms.

const HOP_S = 0.02;
const SEARCH_S = 0.012;
const STEP = 4; // samples skipped while comparing: enough to find the best place, four times as fast

export class Stretcher {
  /** `channels` are arrays of samples; `speed` below 1 is slower; reading begins at sample `start`, ends before `end`. */
  constructor(channels, rateHz, speed, start = 0, end = channels[0].length) {
    this.channels = channels;
    this.hop = Math.round(HOP_S * rateHz);
    this.search = Math.round(SEARCH_S * rateHz);
    this.speed = speed;
    this.start = start;
    this.end = end;
    this.blocks = 0;
    this.last = null; // the place of the last piece
    this.fade = Float32Array.from({ length: this.hop }, (_, i) => 0.5 - 0.5 * Math.cos((Math.PI * (i + 0.5)) / this.hop));
  }

  /** The number of samples that the slower sound has. */
  get length() {
    return Math.ceil((this.end - this.start) / this.speed);
  }

  /** Whether all samples were returned. */
  get done() {
    return this.blocks * this.hop >= this.length;
  }

  /** Return the next samples: an array for each channel, of `count` blocks of 20 ms, fewer at the end. */
  next(count) {
    const blocks = Math.min(count, Math.ceil(this.length / this.hop) - this.blocks);
    const out = this.channels.map(() => new Float32Array(blocks * this.hop));
    for (let block = 0; block < blocks; block += 1) this.#block(out, block * this.hop);
    return out;
  }

  #block(out, at) {
    const nominal = this.start + Math.round(this.blocks * this.hop * this.speed);
    const place = this.last === null ? nominal : this.#best(nominal, this.last + this.hop);
    for (let c = 0; c < out.length; c += 1) {
      const samples = this.channels[c];
      for (let i = 0; i < this.hop; i += 1) {
        const fresh = this.#sample(samples, place + i);
        const before = this.last === null ? fresh : this.#sample(samples, this.last + this.hop + i);
        out[c][at + i] = fresh * this.fade[i] + before * (1 - this.fade[i]);
      }
    }
    this.last = place;
    this.blocks += 1;
  }

  #sample(samples, index) {
    return index >= this.start && index < this.end ? samples[index] : 0;
  }

  /** Return the place near `nominal` from which the sound is most similar to the sound that follows `wanted`. */
  #best(nominal, wanted) {
    const samples = this.channels[0];
    let best = nominal;
    let most = -Infinity;
    for (let move = -this.search; move <= this.search; move += STEP) {
      let product = 0;
      let power = 1e-9;
      for (let i = 0; i < this.hop; i += STEP) {
        const there = this.#sample(samples, nominal + move + i);
        product += there * this.#sample(samples, wanted + i);
        power += there * there;
      }
      const alike = product / Math.sqrt(power);
      if (alike > most) {
        most = alike;
        best = nominal + move;
      }
    }
    return best;
  }
}

/** Return a whole stretch at once. */
export function stretched(channels, rateHz, speed, start, end) {
  const stretcher = new Stretcher(channels, rateHz, speed, start, end);
  return stretcher.next(Infinity).map((samples) => samples.subarray(0, stretcher.length));
}
