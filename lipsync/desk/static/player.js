// Plays a line: from anywhere, at any speed without changing pitch, over and over, or one frame of it.
//
// The picture follows the sound's own clock (AudioContext.currentTime, minus the delay of the output), never a timer, so
// the two cannot drift apart. Times are microseconds from the line's `in` point.

import { Stretcher, stretched } from "./stretch.js";

const AHEAD_S = 0.6; // how far ahead slow sound is made
const BLOCKS = 15; // how many blocks of 20 ms are made at a time: 0.3 s
const START_S = 0.03;
const GRAIN_US = 70_000;

export class Player extends EventTarget {
  constructor() {
    super();
    this.buffer = null;
    this.speed = 1;
    this.atUs = 0;
    this.asked = 0; // how often it was asked to play
    this.playing = null; // {fromUs, untilUs, began, speed, loop, sources}
  }

  /** Take the sound of a line: the bytes of a WAV file. */
  async load(wav) {
    const rate = new DataView(wav).getUint32(24, true); // a WAV file has its sample rate at byte 24
    this.context ??= new AudioContext({ sampleRate: rate, latencyHint: "interactive" });
    if (this.context.sampleRate !== rate) {
      await this.context.close();
      this.context = new AudioContext({ sampleRate: rate, latencyHint: "interactive" });
    }
    this.buffer = await this.context.decodeAudioData(wav);
  }

  /** Return the decoded sound of a WAV file for a line that is played later, at this player's own rate. */
  decoded(wav) {
    this.context ??= new AudioContext({ latencyHint: "interactive" });
    return this.context.decodeAudioData(wav);
  }

  /** Take a sound that was decoded. */
  take(buffer) {
    this.stop();
    this.buffer = buffer;
    this.atUs = 0;
  }

  get ready() {
    return this.buffer !== null;
  }

  get durationUs() {
    return this.buffer ? Math.round((this.buffer.length / this.buffer.sampleRate) * 1e6) : 0;
  }

  /** What is being heard now. */
  get positionUs() {
    const now = this.playing;
    if (!now) return this.atUs;
    const heard = this.context.currentTime - this.#latency - now.began;
    const gone = Math.max(0, heard * now.speed * 1e6);
    const length = now.untilUs - now.fromUs;
    return Math.round(now.fromUs + (now.loop ? gone % length : Math.min(gone, length)));
  }

  get #latency() {
    const said = this.context.outputLatency || this.context.baseLatency || 0;
    return Number.isFinite(said) ? Math.min(said, 0.5) : 0;
  }

  /** Play from one time until another; with `loop` over and over. */
  async play(fromUs, untilUs = this.durationUs, loop = false) {
    this.stop();
    if (!this.ready || untilUs <= fromUs) return;
    this.asked += 1;
    const mine = this.asked;
    if (this.context.state !== "running") await this.context.resume();
    if (mine !== this.asked) return; // there was another request before the browser allowed sound
    const began = this.context.currentTime + START_S;
    const now = { fromUs, untilUs, began, speed: this.speed, loop, sources: new Set(), ended: false };
    this.playing = now;
    if (now.speed === 1) this.#whole(now);
    else if (loop) this.#loopSlow(now);
    else this.#slow(now);
    this.dispatchEvent(new Event("start"));
  }

  /** Stop, and stay at the time that was reached. */
  stop() {
    const now = this.playing;
    if (!now) return;
    this.atUs = now.loop ? now.fromUs : this.positionUs;
    this.playing = null;
    clearInterval(now.timer);
    for (const source of now.sources) {
      source.onended = null;
      source.stop();
    }
    this.dispatchEvent(new Event("stop"));
  }

  /** Go somewhere without playing. */
  seek(timeUs) {
    this.stop();
    this.atUs = Math.max(0, Math.min(this.durationUs || Infinity, timeUs));
  }

  /** Play a moment of sound: one frame, or the place of a boundary that is being dragged. */
  async grain(fromUs, lengthUs = GRAIN_US) {
    if (!this.ready || this.playing) return;
    if (this.context.state !== "running") await this.context.resume();
    this.hushed?.gain.setTargetAtTime(0, this.context.currentTime, 0.005);
    const start = this.context.currentTime + 0.005;
    const length = lengthUs / 1e6;
    const gain = new GainNode(this.context, { gain: 0 });
    gain.gain.setValueAtTime(0, start);
    gain.gain.linearRampToValueAtTime(1, start + 0.006);
    gain.gain.setValueAtTime(1, start + Math.max(0.006, length - 0.01));
    gain.gain.linearRampToValueAtTime(0, start + length);
    const source = new AudioBufferSourceNode(this.context, { buffer: this.buffer });
    source.connect(gain).connect(this.context.destination);
    source.start(start, Math.max(0, fromUs / 1e6), length);
    this.hushed = gain;
  }

  #source(now, buffer, settings = {}) {
    const source = new AudioBufferSourceNode(this.context, { buffer, ...settings });
    source.connect(this.context.destination);
    now.sources.add(source);
    return source;
  }

  #ends(now, source) {
    source.onended = () => {
      if (this.playing === now) this.stop();
    };
  }

  #whole(now) {
    const [from, until] = [now.fromUs / 1e6, now.untilUs / 1e6];
    const source = this.#source(now, this.buffer, { loop: now.loop, loopStart: from, loopEnd: until });
    if (now.loop) source.start(now.began, from);
    else {
      source.start(now.began, from, until - from);
      this.#ends(now, source);
    }
  }

  get #channels() {
    return Array.from({ length: this.buffer.numberOfChannels }, (_, c) => this.buffer.getChannelData(c));
  }

  #samples(timeUs) {
    return Math.round((timeUs / 1e6) * this.buffer.sampleRate);
  }

  #made(arrays) {
    const { sampleRate } = this.buffer;
    const buffer = new AudioBuffer({ numberOfChannels: arrays.length, length: Math.max(1, arrays[0].length), sampleRate });
    arrays.forEach((samples, c) => buffer.copyToChannel(samples, c));
    return buffer;
  }

  #loopSlow(now) {
    const span = [this.#samples(now.fromUs), this.#samples(now.untilUs)];
    const buffer = this.#made(stretched(this.#channels, this.buffer.sampleRate, now.speed, ...span));
    this.#source(now, buffer, { loop: true }).start(now.began);
  }

  #slow(now) {
    const { sampleRate } = this.buffer;
    const span = [this.#samples(now.fromUs), this.#samples(now.untilUs)];
    const stretcher = new Stretcher(this.#channels, sampleRate, now.speed, ...span);
    let made = 0;
    const fill = () => {
      while (!stretcher.done && now.began + made / sampleRate < this.context.currentTime + AHEAD_S) {
        const buffer = this.#made(stretcher.next(BLOCKS));
        const source = this.#source(now, buffer);
        source.start(now.began + made / sampleRate);
        made += buffer.length;
        if (stretcher.done) this.#ends(now, source);
        else source.onended = () => now.sources.delete(source);
      }
      if (stretcher.done) clearInterval(now.timer);
    };
    fill();
    now.timer = setInterval(fill, 100);
  }
}
