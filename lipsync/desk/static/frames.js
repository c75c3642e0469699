// Time and frames, by the same whole-number formulas as the program's timing.py. Times are microseconds.

const US_PER_S = 1_000_000;

export class Rate {
  /** A rate of numerator / denominator frames a second, exact. Products stay far below 2^53 for hours of film. */
  constructor([numerator, denominator]) {
    this.numerator = numerator;
    this.denominator = denominator;
  }

  /** The frame that is seen at a time: floor(time * rate). */
  frameAt(timeUs) {
    return Math.floor((timeUs * this.numerator) / (this.denominator * US_PER_S));
  }

  /** The first microsecond of a frame: ceil(frame / rate). */
  startUs(frame) {
    return Math.ceil((frame * this.denominator * US_PER_S) / this.numerator);
  }

  /** The frame whose start is nearest. */
  nearest(timeUs) {
    return Math.floor((2 * timeUs * this.numerator + this.denominator * US_PER_S) / (2 * this.denominator * US_PER_S));
  }

  /** A time in frames, with a fraction: the place where it is drawn. */
  place(timeUs) {
    return (timeUs * this.numerator) / (this.denominator * US_PER_S);
  }

  /** The number of labels in a second of timecode. */
  get nominal() {
    return Math.ceil(this.numerator / this.denominator);
  }

  /** The label of a frame counted from midnight; `drop` leaves labels out as SMPTE ST 12-1 has it. */
  timecode(frame, drop) {
    const fps = this.nominal;
    if (drop) {
      const dropped = fps / 15;
      const minute = 60 * fps - dropped;
      const ten = 10 * minute + dropped;
      const tens = Math.floor(frame / ten);
      frame += dropped * (9 * tens + Math.max(0, Math.floor(((frame % ten) - dropped) / minute)));
    }
    frame %= 24 * 3600 * fps;
    const two = (number) => String(number).padStart(2, "0");
    const seconds = Math.floor(frame / fps);
    const label = [seconds / 3600, (seconds / 60) % 60, seconds % 60].map((part) => two(Math.floor(part))).join(":");
    return `${label}${drop ? ";" : ":"}${String(frame % fps).padStart(Math.max(2, String(fps - 1).length), "0")}`;
  }
}

/** A time as text, in seconds. */
export function seconds(timeUs) {
  return `${(timeUs / US_PER_S).toFixed(3)} s`;
}
