// The controller: an RP2040 emulator, with the processor and the programmable I/O on one clock.
//
// The emulator as it comes steps its I/O blocks from a timer of the host. Here they are stepped by
// the emulated clock, each state machine at its own divisor, so that every edge has its exact time.
// See machine.mjs.

import { readFileSync } from "node:fs";
import { RP2040 } from "rp2040js";
import { Machine } from "./machine.mjs";
import { Watchdog } from "./watchdog.mjs";

const FLASH = 0x10000000;
const VECTORS = FLASH + 0x100;
const RAM = 0x20000000;
/** A stack that goes beyond its end writes into the space below. */
const BELOW = 0x10000;
const CYCLE_NS = 8; // 125 MHz
/** Number of the exception. */
const HARD_FAULT = 3;

/** Loads what an ELF file puts into the flash. */
function load(chip, path) {
  const elf = readFileSync(path);
  const view = new DataView(elf.buffer, elf.byteOffset, elf.length);
  const [table, size, count] = [view.getUint32(28, true), view.getUint16(42, true), view.getUint16(44, true)];
  for (let i = 0; i < count; i++) {
    const at = table + i * size;
    const [type, offset, , physical, bytes] = [0, 4, 8, 12, 16].map((o) => view.getUint32(at + o, true));
    if (type === 1 && bytes > 0 && physical >= FLASH && physical < RAM) {
      chip.flash.set(elf.subarray(offset, offset + bytes), physical - FLASH);
    }
  }
}

/** The address of the first symbol whose name holds `part`. */
function symbol(path, part) {
  const elf = readFileSync(path);
  const view = new DataView(elf.buffer, elf.byteOffset, elf.length);
  const [table, size, count] = [view.getUint32(32, true), view.getUint16(46, true), view.getUint16(48, true)];
  const section = (i) => {
    const at = table + i * size;
    const field = (offset) => view.getUint32(at + offset, true);
    return { type: field(4), offset: field(16), size: field(20), link: field(24) };
  };
  for (let i = 0; i < count; i++) {
    const symbols = section(i);
    if (symbols.type !== 2) continue;
    const names = section(symbols.link).offset;
    for (let at = symbols.offset; at < symbols.offset + symbols.size; at += 16) {
      const name = names + view.getUint32(at, true);
      if (elf.toString("latin1", name, elf.indexOf(0, name)).includes(part)) return view.getUint32(at + 4, true);
    }
  }
  throw new Error(`no symbol ${part} in ${path}`);
}

export class Chip {
  /**
   * `onPins(block, values, changed, ns)` hears of every change of an I/O block's pins.
   * `due()` gives the time of the next thing outside, and `turn()` does it. The processor takes
   * `slowness` times its time for every instruction, as if it had to wait for the flash. `onStart(chip)`
   * hears of a chip that starts, or starts anew.
   */
  constructor(path, { onPins, due, turn, slowness, onStart }) {
    Object.assign(this, { path, onPins, due, turn, onStart });
    this.cycleNs = CYCLE_NS * slowness;
    this.idleNs = 0;
    this.lowestStack = 0xffffffff;
    /** Since when no interrupt gets through, and the longest time that was so. */
    this.closedNs = null;
    this.longestClosedNs = 0;
    this.watchdog = new Watchdog(() => this.idleNs, () => this.reset());
    this.bitten = false;
    this.hangsSoon = false;
    this.locked = false;
  }

  /** As after the boot ROM and the second stage: memory as it was, everything else anew. */
  start() {
    const memory = this.chip?.sram;
    if (this.clock) this.clock.nextAlarm = null;
    const chip = new RP2040(this.clock);
    Object.assign(this, { chip, core: chip.core, clock: chip.clock });
    this.closedNs = null;
    this.bitten = false;
    this.locked = false;
    chip.logger.warn = chip.logger.info = chip.logger.debug = () => {};
    chip.logger.error = (who, what) => process.stderr.write(`emulator: ${who}: ${what}\n`);
    if (memory) chip.sram.set(memory);
    load(chip, this.path);
    this.machines = chip.pio.flatMap((block) => {
      block.run = () => {};
      return block.machines.map((machine) => new Machine(chip, block, machine, this.onPins));
    });
    /** Those that the firmware has started, filled as it does so. */
    this.running = [];
    for (const m of this.machines) m.started = () => this.running.includes(m) || this.running.push(m);
    this.watchdog.attach(chip);
    this.core.VTOR = VECTORS;
    this.core.SP = chip.readUint32(VECTORS);
    this.core.PC = chip.readUint32(VECTORS + 4) & ~1;
    this.onStart(chip);
  }

  /** The watchdog resets the chip: the processor stops here, and starts anew. */
  reset() {
    this.core.waiting = true;
    this.bitten = true;
  }

  /** Where the second block reads its three data lines. */
  readConverters(inputs) {
    for (const m of this.machines) {
      if (m.block.index !== 1) continue;
      m.inputs = inputs;
      Object.defineProperty(m.machine, "inPins", { get: inputs });
    }
  }

  /** Interrupts are off, or one is served: all have one priority. */
  watchInterrupts() {
    const { core, clock } = this;
    if (core.PM || core.IPSR !== 0) {
      if (this.closedNs === null) this.closedNs = clock.nanos;
    } else if (this.closedNs !== null) {
      this.longestClosedNs = Math.max(this.longestClosedNs, clock.nanos - this.closedNs);
      this.closedNs = null;
    }
  }

  /** Bytes that the stack has taken at its deepest, and those that it may take. */
  stack() {
    const top = symbol(this.path, "_stack_start");
    return { deepest: top - this.lowestStack, room: top - RAM };
  }

  /** The main loop panics now. */
  panic() {
    this.core.waiting = false;
    this.core.PC = symbol(this.path, "rust_begin_unwind") & ~1;
  }

  /** The stack has a few words left from now on: the next calls go beyond its end. */
  fillStack() {
    const { core, chip } = this;
    core.waiting = false;
    core.SP = RAM + 64;
    // There is no memory below: a fault, and another one, since there is no place for its frame either. That
    // locks the processor up (ARMv6-M, lockup), and no interrupt is served any more.
    const write = chip.writeUint32;
    chip.writeUint32 = (address, value) => {
      if (address < RAM && address >= RAM - BELOW) this.locked = true;
      else write.call(chip, address, value);
    };
  }

  /** What the processor does when it meets an instruction or an address that it does not know. */
  fault() {
    this.core.waiting = false;
    this.core.exceptionEntry(HARD_FAULT);
  }

  /** The main loop goes round in a circle from now on. Interrupts come as before, or never again. */
  hang(interrupts) {
    const { core } = this;
    if (interrupts && (core.IPSR !== 0 || core.PM)) {
      // Not while one of them is served.
      this.hangsSoon = true;
      return;
    }
    this.hangsSoon = false;
    if (!interrupts) core.PM = true;
    const at = core.SP - 4096;
    this.chip.writeUint16(at, 0xe7fe);
    core.waiting = false;
    core.PC = at;
  }

  /** When the first of the state machines has to go on. */
  nextNs() {
    let next = Infinity;
    for (const machine of this.running) {
      const ns = machine.nextNs + machine.slackNs;
      if (ns < next) next = ns;
    }
    return next;
  }

  /** Whatever runs ahead of the clock now goes no further than this. */
  noFurtherThan(ns) {
    for (const m of this.running) if (ns < m.untilNs) m.untilNs = ns;
  }

  /** Runs until the emulated clock shows this. */
  runUntil(endNs) {
    const { clock, cycleNs } = this;
    let { core, running } = this;
    while (clock.nanos < endNs) {
      if (this.bitten) {
        this.start();
        ({ core, running } = this);
      }
      if (this.hangsSoon) this.hang(true);
      if (this.locked) core.waiting = true;
      let until = Math.min(endNs, this.due());
      if (core.waiting) {
        // Asleep, nothing looks at a machine's work before the next alarm.
        const alarm = clock.nextAlarm ? clock.nextAlarm.nanos : Infinity;
        for (const m of running) if (!m.slackNs && m.nextNs < until) until = m.nextNs;
        until = Math.max(clock.nanos, Math.min(until, alarm));
        const from = clock.nanos;
        for (const m of running) {
          if (!m.slackNs) continue;
          m.run(until);
          until = Math.max(from, m.untilNs);
        }
        if ((core.waiting || this.locked) && clock.nanos < until) clock.tick(until - clock.nanos);
        else if (clock.nanos === from) clock.tick(0);
        this.idleNs += clock.nanos - from;
      } else {
        until = Math.min(until, this.nextNs());
        do {
          clock.tick(core.executeInstruction() * cycleNs);
          if (core.registers[13] < this.lowestStack) this.lowestStack = core.registers[13];
          this.watchInterrupts();
        } while (clock.nanos < until && !core.waiting && !this.locked);
        for (const m of running) if (m.slackNs) m.run(clock.nanos);
      }
      const now = clock.nanos;
      for (const m of running) if (m.nextNs <= now) m.run(now);
      if (this.due() <= now) this.turn();
    }
  }
}
