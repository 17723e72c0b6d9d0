// The chip's watchdog: what it resets, and what it tells of the main loop, since whoever feeds it has come
// round.
//
// The emulator counts it down, twice a microsecond as the real one does (RP2040-E1), and leaves the
// reset to others. What is reset then stands in the power-on state machine's WDSEL (data sheet 2.13.5):
// here all but the oscillators, or it is a failure.

const LOAD = 0x04;
const WATCHDOG = 0x40058;
const POWER_ON = 0x40010;
/** Bits of WDSEL: all but the ring oscillator and the crystal. */
const ALL = 0x1fffc;

export class Watchdog {
  /** `asleepNs()` is how long the processor has slept by now; `bite()` follows when nobody feeds it. */
  constructor(asleepNs, bite) {
    this.asleepNs = asleepNs;
    this.bite = bite;
    /** The longest turn of the main loop, what it slept not counted. */
    this.longestNs = 0;
    this.bites = 0;
  }

  /** Watches a chip that starts. */
  attach(chip) {
    const peripheral = chip.peripherals[WATCHDOG];
    let last = null;
    const write = peripheral.writeUint32;
    peripheral.writeUint32 = (offset, value) => {
      write.call(peripheral, offset, value);
      if (offset !== LOAD) return;
      const awakeNs = chip.clock.nanos - this.asleepNs();
      if (last !== null) this.longestNs = Math.max(this.longestNs, awakeNs - last);
      last = awakeNs;
    };
    peripheral.onWatchdogTrigger = () => {
      const { wdsel } = chip.peripherals[POWER_ON];
      if ((wdsel & ALL) !== ALL) throw new Error(`the watchdog resets only 0x${wdsel.toString(16)}`);
      // Else it comes again and again at the same time.
      peripheral.alarm.enable = false;
      this.bites++;
      this.bite();
    };
  }
}
