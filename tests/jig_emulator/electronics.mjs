// What stands around the controller on the jig's board, at the level of its pins: see
// fixtures/jig/boards/large/src/pins.rs and docs/jig.md; the converters are in converters.mjs. What the module and
// the loads do is asked outside.

import { Latches, Pump } from "./guards.mjs";

const PIN = {
  wireA: 2, wireB: 3, feedPump: 4, loadPump: 5, full: 6, feedTripped: 8, loadsTripped: 9, take: 17, enable: 20,
  start: 21, interlock: 22, clear: 26, loadsOn: 27,
};
/** Full scale of the soft start's limit. */
const LIMIT_FULL_UA = 500_000;

/** Supplies, pumps, latches and switches. */
export class Board {
  /** `tell(event)` passes on what changes for the module and the loads. */
  constructor(tell) {
    this.tell = tell;
    this.pumps = { feed: new Pump(), loads: new Pump() };
    this.wires = 0;
    this.latches = new Latches();
    /** The supply of comparators and converters (V5A). */
    this.hasAnalogue = true;
    this.chain = [0, 0, 0, 0, 0];
    this.outputs = "0";
    this.said = {};
    this.interlockOpen = false;
  }

  /** Around a chip that starts: its pins are inputs. */
  attach(chip) {
    this.chip = chip;
    const pin = (number, on) => chip.gpio[number].addListener(() => on(this.level(number), chip.clock.nanos));
    pin(PIN.feedPump, (high, ns) => this.pump("feed", high, ns));
    pin(PIN.loadPump, (high, ns) => this.pump("loads", high, ns));
    pin(PIN.full, (_, ns) => this.refresh(ns));
    pin(PIN.loadsOn, (_, ns) => this.refresh(ns));
    pin(PIN.enable, (_, ns) => this.refresh(ns));
    // A pin that lets go of its wire: the block behind it does not tell.
    for (const wire of [PIN.wireA, PIN.wireB]) pin(wire, (_, ns) => this.letGo(wire) && this.onWires(0, ns));
    pin(PIN.take, (high, ns) => high && this.takeOver(ns));
    pin(PIN.clear, (high, ns) => this.clear(high, ns));
    // The soft start's limit is read from the slice's registers; its pulses need not be played.
    Object.defineProperty(chip.pwm.channels[3].timer, "enable", { get: () => false, set: () => {} });
    const spi = chip.spi[0];
    spi.onTransmit = (byte) => {
      this.chain.push(byte);
      spi.completeTransmit(this.chain.shift());
    };
    this.input(PIN.start, true);
    this.input(PIN.interlock, this.interlockOpen);
    this.showTrips();
    if (this.wires !== 0) this.onWires(0, chip.clock.nanos);
    this.refresh(chip.clock.nanos);
  }

  /** Somebody opens or closes the interlock. */
  interlock(open) {
    if (open === this.interlockOpen) return;
    this.interlockOpen = open;
    this.input(PIN.interlock, open);
  }

  /** The analogue supply goes away, or comes back. */
  analogue(has, ns) {
    if (has === this.hasAnalogue) return;
    this.hasAnalogue = has;
    this.refresh(ns);
  }

  /** A pump that runs, and a comparator that can tell. */
  pumped(which, ns) {
    return this.hasAnalogue && this.pumps[which].alive(ns);
  }

  input(number, high) {
    this.chip.gpio[number].setInputValue(high);
  }

  /** High only while the controller drives it so: the board's resistors pull the other way. */
  level(number) {
    const pin = this.chip.gpio[number];
    if (pin.outputEnable && !pin.outputDisable) return pin.outputValue;
    return number === PIN.enable;
  }

  /** Whether the feed's pins are the block's, and not let go of. */
  drivesWires() {
    return !this.letGo(PIN.wireA) && !this.letGo(PIN.wireB);
  }

  letGo(number) {
    const pin = this.chip.gpio[number];
    return !pin.outputEnable || pin.outputDisable;
  }

  pump(which, high, ns) {
    if (high) this.pumps[which].pulse(ns);
    this.refresh(ns);
  }

  /** When a pump runs dry next. */
  dueNs(ns) {
    return Math.min(this.pumps.feed.dryNs(ns), this.pumps.loads.dryNs(ns));
  }

  takeOver(ns) {
    this.outputs = this.chain.map((byte) => byte.toString(16).padStart(2, "0")).join("");
    this.refresh(ns);
  }

  clear(high, ns) {
    if (!this.latches.pin(high, ns)) return;
    this.tell(`c${ns}`);
    this.showTrips();
    this.refresh(ns);
  }

  /** What the world says of the cut-offs. */
  trip(feed, loads, ns) {
    this.latches.trip(feed, loads);
    this.showTrips();
    this.refresh(ns);
  }

  showTrips() {
    this.input(PIN.feedTripped, this.latches.set.feed);
    this.input(PIN.loadsTripped, this.latches.set.loads);
  }

  /** Levels of the feed's wires: 0 both low, 1 A high, 2 B high. */
  onWires(levels, ns) {
    this.wires = levels;
    // The pins themselves are not told of what the block does: only of what happens to them.
    for (const wire of [PIN.wireA, PIN.wireB]) this.chip.gpio[wire].lastValue = this.chip.gpio[wire].value;
    this.tell(`f${ns}:${levels}`);
    this.refresh(ns);
  }

  limitUa() {
    const slice = this.chip.pwm.channels[3];
    const duty = (slice.cc >>> 16) / (slice.top + 1);
    return Math.round(Math.min(1, duty) * LIMIT_FULL_UA);
  }

  /** Tells what has changed. */
  refresh(ns) {
    const wiresAlive = this.wires === 1 || this.wires === 2;
    const feed = wiresAlive && this.pumped("feed", ns) && !this.latches.set.feed;
    const drive = !feed ? 0 : this.level(PIN.full) ? 2 : 1;
    const loadPump = this.pumped("loads", ns);
    const loads = this.level(PIN.loadsOn) && loadPump && !this.latches.set.loads;
    const switches = loadPump && !this.level(PIN.enable) ? this.outputs : "0000000000";
    this.say("d", ns, `${drive}:${this.limitUa()}`);
    this.say("l", ns, loads ? 1 : 0);
    this.say("s", ns, switches);
  }

  say(what, ns, value) {
    if (this.said[what] !== value) {
      this.said[what] = value;
      this.tell(`${what}${ns}:${value}`);
    }
  }
}
