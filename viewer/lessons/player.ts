/** Plays what has been made, when somebody asks for it and never before; stops at Escape and when the page is hidden. */
import { PEAK_MOST, RMS_MOST, rms } from "./sound.ts";

export interface Player {
  /** Ends what was playing. Null once it plays; else why there is no sound. */
  play(samples: Float32Array<ArrayBuffer>, sampleRateHz: number): Promise<string | null>;
  stop(): void;
  /** From 0 to 1; 1 leaves the samples as they are, so nothing is ever louder than they. */
  setVolume(share: number): void;
}

/** Where the slider begins: −24 dB, with loudness growing about evenly along its way (square law; common practice, no source). */
export const FIRST_VOLUME = 0.25;

/** A sound that is cut off ends in a click of its own. */
const STOP_SECONDS = 0.02;

/** `stopped` is told each time that playing ends, by itself or not. */
export function createPlayer(stopped: () => void): Player {
  let playing: {
    readonly context: AudioContext;
    readonly source: AudioBufferSourceNode;
    readonly gain: GainNode;
  } | null = null;
  let volume = FIRST_VOLUME;
  /** Counts what was asked for, so that what comes late is not played. */
  let asked = 0;

  const onKey = (event: KeyboardEvent) => {
    if (event.key === "Escape") stop();
  };
  const onHide = () => {
    if (document.visibilityState === "hidden") stop();
  };
  function listen(isOn: boolean): void {
    const change = isOn ? "addEventListener" : "removeEventListener";
    document[change]("keydown", onKey as EventListener);
    document[change]("visibilitychange", onHide);
    window[change]("pagehide", stop);
  }
  function stop(): void {
    asked += 1;
    if (playing === null) return;
    const { context, source, gain } = playing;
    playing = null;
    listen(false);
    gain.gain.setTargetAtTime(0, context.currentTime, STOP_SECONDS / 4);
    source.stop(context.currentTime + STOP_SECONDS);
    stopped();
  }

  return {
    stop,
    setVolume(share) {
      volume = Math.min(Math.max(share, 0), 1);
      playing?.gain.gain.setTargetAtTime(volume * volume, playing.context.currentTime, STOP_SECONDS);
    },
    async play(samples, sampleRateHz) {
      stop();
      const mine = asked;
      const peak = samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
      if (peak > PEAK_MOST || rms(samples) > RMS_MOST) return "It would be louder than it may be, so it is not played.";
      if (typeof AudioContext === "undefined") return "This browser plays no sound here. Save it as WAV instead.";
      const context = openAt(sampleRateHz);
      try {
        await context.resume();
      } catch {
        return "This browser does not let the page play. Save it as WAV instead.";
      }
      if (mine !== asked) {
        void context.close();
        return null;
      }
      const buffer = context.createBuffer(1, samples.length, sampleRateHz);
      buffer.copyToChannel(samples, 0);
      const source = context.createBufferSource();
      source.buffer = buffer;
      const gain = context.createGain();
      gain.gain.value = volume * volume;
      source.connect(gain).connect(context.destination);
      source.onended = () => {
        if (playing?.source === source) stop();
        void context.close();
      };
      playing = { context, source, gain };
      listen(true);
      source.start();
      return null;
    },
  };
}

/** At the rig's own rate, where a dropped sample stays one sample; else at the machine's. */
function openAt(sampleRateHz: number): AudioContext {
  try {
    return new AudioContext({ sampleRate: sampleRateHz });
  } catch {
    return new AudioContext();
  }
}
