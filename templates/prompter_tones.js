// Soft tones in one ear that count a firm call in: one each second of the last three.
//
// They are booked a little ahead on the sound's own clock, so that a late frame, or a page
// that nobody looks at, does not make them late. What a wireless earphone holds them up by
// is taken off as far as the browser knows it.

"use strict";

const TONE_STEPS_MS = [3000, 2000, 1000];

function countTones() {
  const AHEAD_MS = 1500; // a page in the background is woken once a second
  const LENGTH_S = 0.14;
  const PITCH_HZ = 587;
  const LAST_HZ = 784; // one second before the call
  const SIDES = { left: -1, right: 1 };
  let graph = null;
  let side = null;
  let level = null;
  const booked = new Map(); // instant -> what sounds at it
  const wish = { side: "off", step: 1 };

  // The softest step peaks at -42 dBFS, each further one is 6 dB more: -18 at most.
  const peak = () => 10 ** ((-48 + 6 * wish.step) / 20);

  // A browser lets sound begin where somebody has pressed something.
  function open() {
    if (wish.side === "off" || !window.AudioContext) return;
    if (!graph) {
      graph = new AudioContext();
      side = new StereoPannerNode(graph);
      level = new GainNode(graph);
      level.connect(side).connect(graph.destination);
    }
    graph.resume().catch(() => {});
    side.pan.value = SIDES[wish.side];
    level.gain.value = peak();
  }

  function sound(startS, pitch) {
    const tone = new OscillatorNode(graph, { frequency: pitch });
    const shape = new GainNode(graph, { gain: 0 });
    shape.gain.setValueAtTime(0, startS);
    shape.gain.linearRampToValueAtTime(1, startS + 0.015);
    shape.gain.linearRampToValueAtTime(0, startS + LENGTH_S);
    tone.connect(shape).connect(level);
    tone.start(startS);
    tone.stop(startS + LENGTH_S + 0.02);
    return { tone, shape };
  }

  function clear() {
    for (const { tone, shape } of booked.values()) {
      tone.stop();
      shape.disconnect();
    }
    booked.clear();
  }

  // calls: instants of the firm calls; at: the instant that it is now.
  function book(calls, at) {
    if (!graph || wish.side === "off") return;
    for (const call of calls) {
      for (const step of TONE_STEPS_MS) {
        const instant = call - step;
        if (instant <= at || instant > at + AHEAD_MS || booked.has(instant)) continue;
        const startS = graph.currentTime + (instant - at) / 1000 - (graph.outputLatency || 0);
        const pitch = step === 1000 ? LAST_HZ : PITCH_HZ;
        booked.set(instant, sound(Math.max(graph.currentTime, startS), pitch));
      }
    }
    for (const instant of booked.keys()) if (instant < at - 1000) booked.delete(instant);
  }

  return {
    book,
    clear,
    open,
    wish,
    aheadMs: AHEAD_MS,
    set(facts) {
      Object.assign(wish, facts);
      clear();
      open();
    },
    sample() {
      open();
      if (graph && wish.side !== "off") sound(graph.currentTime + 0.05, PITCH_HZ);
    },
  };
}
