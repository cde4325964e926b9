// The recorder's ear: the microphone as plain samples, and a WAV file of 24 bits of them.

"use strict";

// Whatever would change the voice is switched off; what it was is repaired later, by rule.
const PLAIN = {
  echoCancellation: false,
  noiseSuppression: false,
  autoGainControl: false,
  channelCount: 1,
};

const dbOf = (amplitude) => 20 * Math.log10(Math.max(amplitude, 1e-6));

function peakOf(samples) {
  let peak = 0;
  for (const sample of samples) peak = Math.max(peak, Math.abs(sample));
  return peak;
}

// Opens the microphone. heard: called with each block of samples; gone: when it is lost.
async function openMicrophone(heard, gone) {
  const stream = await navigator.mediaDevices.getUserMedia({ audio: PLAIN });
  const graph = new AudioContext({ sampleRate: 48000 });
  await graph.audioWorklet.addModule("capture.js");
  const capture = new AudioWorkletNode(graph, "capture", { numberOfOutputs: 0, channelCount: 1 });
  capture.port.onmessage = (event) => heard(event.data);
  graph.createMediaStreamSource(stream).connect(capture);
  await graph.resume();
  stream.getAudioTracks()[0].addEventListener("ended", gone);
  return graph;
}

function joined(blocks) {
  const whole = new Float32Array(blocks.reduce((sum, block) => sum + block.length, 0));
  let at = 0;
  for (const block of blocks) {
    whole.set(block, at);
    at += block.length;
  }
  return whole;
}

// A WAV file (RIFF, format 1) of one channel, little-endian.
function wavOf(samples, rate) {
  const WIDTH = 3;
  const size = samples.length * WIDTH;
  const bytes = new Uint8Array(44 + size + (size % 2)); // a chunk ends on an even byte
  const view = new DataView(bytes.buffer);
  const words = (at, text) => bytes.set(new TextEncoder().encode(text), at);
  words(0, "RIFF");
  view.setUint32(4, bytes.length - 8, true);
  words(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, rate, true);
  view.setUint32(28, rate * WIDTH, true);
  view.setUint16(32, WIDTH, true);
  view.setUint16(34, 8 * WIDTH, true);
  words(36, "data");
  view.setUint32(40, size, true);
  samples.forEach((sample, i) => {
    const whole = Math.round(Math.min(Math.max(sample, -1), 1) * 0x7fffff);
    view.setUint16(44 + WIDTH * i, whole & 0xffff, true);
    view.setInt8(46 + WIDTH * i, whole >> 16);
  });
  return bytes;
}
