// The chip's watchdog, and what it tells of the main loop: whoever feeds it has come round.

const LOAD = 0x04;

export class Watchdog {
  /** `asleepNs()` is how long the processor has slept by now. */
  constructor(chip, asleepNs) {
    const peripheral = chip.peripherals[0x40058];
    /** The longest turn of the main loop, what it slept not counted, and when that one ended. */
    this.longest = { ns: 0, endNs: 0 };
    let last = null;
    const write = peripheral.writeUint32;
    peripheral.writeUint32 = (offset, value) => {
      write.call(peripheral, offset, value);
      if (offset !== LOAD) return;
      const awakeNs = chip.clock.nanos - asleepNs();
      if (last !== null && awakeNs - last > this.longest.ns) {
        this.longest = { ns: awakeNs - last, endNs: chip.clock.nanos };
      }
      last = awakeNs;
    };
  }
}
