/** Sound and vibration of the stop warning. Browsers let a page sound only after it was touched once. */

let context: AudioContext | null = null;
let running: { stop: () => void } | null = null;

/** Ready the sound at the first touch. */
export function readySound(): void {
  const unlock = (): void => {
    try {
      context ??= new AudioContext();
      void context.resume();
    } catch {
      context = null;
    }
  };
  window.addEventListener("pointerdown", unlock, { once: true, capture: true });
  window.addEventListener("keydown", unlock, { once: true, capture: true });
}

function sweep(sound: AudioContext, at: number): void {
  // Two tones with overtones cut through a noisy yard better than one.
  for (const [offset, pitch] of [[0, 880], [0.25, 1320]] as const) {
    const tone = sound.createOscillator();
    const loud = sound.createGain();
    tone.type = "square";
    tone.frequency.value = pitch;
    loud.gain.setValueAtTime(0.0001, at + offset);
    loud.gain.exponentialRampToValueAtTime(0.5, at + offset + 0.02);
    loud.gain.exponentialRampToValueAtTime(0.0001, at + offset + 0.22);
    tone.connect(loud).connect(sound.destination);
    tone.start(at + offset);
    tone.stop(at + offset + 0.24);
  }
}

export function startSiren(sound: boolean, vibrate: boolean): void {
  if (running) return;
  const once = (): void => {
    if (sound && context) sweep(context, context.currentTime);
    if (vibrate) navigator.vibrate?.([350, 120, 350]);
  };
  once();
  const timer = setInterval(once, 900);
  running = {
    stop: () => {
      clearInterval(timer);
      navigator.vibrate?.(0);
    },
  };
}

export function stopSiren(): void {
  running?.stop();
  running = null;
}
