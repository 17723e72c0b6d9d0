// The three converters on the jig's board, at the level of their pins, with their pipeline of two
// conversions and a check of their shortest times.

const PIN = { convert: 10, clock: 11, settings: 12 };

// The converter (AD7689 class; times from memory of its data sheet).
const CONVERSION_NS = 2200;
const ACQUISITION_NS = 1800;
const CLOCK_NS = 22;
const OVERWRITE = 1 << 13;

/** Noise of a conversion, in steps: the sum of four uniform draws is nearly normal. */
function noise(random) {
  const sum = random() + random() + random() + random() - 2;
  return sum * Math.sqrt(3) * 0.8;
}

/** Reproducible random numbers (xorshift, 32 bits). */
function generator(seed) {
  let state = seed | 1;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 4294967296;
  };
}

/** The three converters, which share start, clock and settings. */
export class Converters {
  /**
   * `look(ns)` gives what stands at the inputs, in steps: 24 numbers, three for each input. `powered()` says
   * whether they have their supply.
   */
  constructor(look, powered, complain) {
    this.powered = powered;
    this.look = look;
    this.complain = complain;
    this.random = generator(12345);
    this.data = 0;
    this.shifts = [0, 0, 0];
    this.settings = 0;
    this.bits = 0;
    this.input = null;
    this.next = null;
    this.startNs = -Infinity;
    this.clockNs = -Infinity;
    this.conversions = 0;
  }

  onPins(values, changed, ns) {
    if (changed & (1 << PIN.convert)) {
      if (values & (1 << PIN.convert)) this.start(ns);
      else this.read(ns);
    }
    if (changed & (1 << PIN.clock)) {
      if (values & (1 << PIN.clock)) this.rise((values >>> PIN.settings) & 1, ns);
      else this.fall();
    }
  }

  start(ns) {
    if (ns - this.startNs < CONVERSION_NS + ACQUISITION_NS) this.complain("conversions too close", ns);
    // Settings that came whole after the last conversion hold for the next but one.
    if (this.bits >= 14 && this.settings & OVERWRITE) this.next = (this.settings >> 7) & 7;
    if (this.input === null) {
      this.shifts = [0x5555, 0x5555, 0x5555];
    } else {
      const steps = this.powered() ? this.look(ns) : null;
      for (let c = 0; c < 3; c++) {
        // Without a supply the data lines stay low.
        const counts = steps ? Math.round(steps[3 * this.input + c] + noise(this.random)) : 0;
        this.shifts[c] = Math.min(65535, Math.max(0, counts));
      }
    }
    this.input = this.next;
    this.startNs = ns;
    this.bits = 0;
    this.settings = 0;
    this.conversions++;
  }

  read(ns) {
    if (ns - this.startNs < CONVERSION_NS) this.complain("read before the conversion's end", ns);
    this.present();
  }

  rise(setting, ns) {
    if (ns - this.clockNs < CLOCK_NS) this.complain("clock too fast", ns);
    this.clockNs = ns;
    if (this.bits < 14) this.settings = (this.settings << 1) | setting;
    this.bits++;
  }

  fall() {
    for (let c = 0; c < 3; c++) this.shifts[c] = (this.shifts[c] << 1) & 0xffff;
    this.present();
  }

  present() {
    const [x, y, z] = this.shifts;
    this.data = (x >> 15) | ((y >> 15) << 1) | ((z >> 15) << 2);
  }
}
