// Hands the microphone's samples on as they come, in blocks of some hundredths of a second.

"use strict";

const BLOCK = 1024;

class Capture extends AudioWorkletProcessor {
  constructor() {
    super();
    this.block = new Float32Array(BLOCK);
    this.filled = 0;
  }

  process(inputs) {
    const samples = inputs[0][0];
    if (!samples) return true;
    this.block.set(samples, this.filled); // BLOCK is a whole number of render quanta
    this.filled += samples.length;
    if (this.filled === BLOCK) {
      this.port.postMessage(this.block.slice());
      this.filled = 0;
    }
    return true;
  }
}

registerProcessor("capture", Capture);
