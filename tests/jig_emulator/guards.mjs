// Pumps, supervisor and latches on the jig's board, analogue sides and all: the sheets guard and latches.

/** What the pumps' pins swing to, and what a small Schottky diode takes, volts. */
const HIGH_V = 3.3;
const DIODE_V = 0.25;
/** C303 and C304; R309 empties the latter. */
const PUMP_F = 68e-9;
const HOLD_F = 100e-9;
const BLEED_S = 24e3 * HOLD_F;
/** The comparator's threshold: R314, R315, and R316 from its own output, which stands at 3.3 V while off. */
const [UP_S, DOWN_S, BACK_S] = [1 / 40.2e3, 1 / 10e3, 1 / 330e3];
const THRESHOLD_V = (outV) => (4.096 * UP_S + outV * BACK_S) / (UP_S + DOWN_S + BACK_S);
const [STAYS_V, STARTS_V] = [THRESHOLD_V(0), THRESHOLD_V(HIGH_V)];

/** A pump: each rising edge puts charge into a capacitor that a resistor empties. */
export class Pump {
  constructor() {
    this.volts = 0;
    this.ns = 0;
    this.on = false;
  }

  settle(ns) {
    this.volts *= Math.exp(-(ns - this.ns) / 1e9 / BLEED_S);
    this.ns = ns;
    this.on = this.volts > (this.on ? STAYS_V : STARTS_V);
  }

  pulse(ns) {
    this.settle(ns);
    const above = HIGH_V - 2 * DIODE_V - this.volts;
    if (above > 0) this.volts += (above * PUMP_F) / (PUMP_F + HOLD_F);
    this.settle(ns);
  }

  alive(ns) {
    this.settle(ns);
    return this.on;
  }

  /** When it runs dry, if it is not. */
  dryNs(ns) {
    if (!this.alive(ns)) return Infinity;
    return Math.ceil(ns + BLEED_S * Math.log(this.volts / STAYS_V) * 1e9) + 1;
  }
}

/** U303 holds the latches set for so long after power-up: typical of its kind, from memory. */
const RESET_NS = 240e6;
/** R327 gives C307 back what an edge took: after five times 10 kΩ and 10 nF there is another edge in it. */
const READY_NS = 500_000;

/** Both latches. Each is set by its comparator or by U303, and cleared by an edge. */
export class Latches {
  constructor() {
    this.set = { feed: true, loads: true };
    this.resetUntilNs = RESET_NS;
    this.lowSinceNs = -Infinity;
  }

  /** U303 holds on, or lets go. */
  hold(held, ns) {
    if (held) this.resetUntilNs = Infinity;
    else if (this.resetUntilNs === Infinity) this.resetUntilNs = ns;
  }

  trip(feed, loads) {
    this.set.feed ||= feed;
    this.set.loads ||= loads;
  }

  /** The clear pin moves; whether that lets go of the latches. */
  pin(high, ns) {
    if (!high) {
      this.lowSinceNs = ns;
      return false;
    }
    // Held set and cleared at once, a latch shows that it is set, and stays so.
    if (ns < this.resetUntilNs || ns - this.lowSinceNs < READY_NS) return false;
    this.set = { feed: false, loads: false };
    return true;
  }
}
