// A state machine of a programmable I/O block, on the emulated clock.
//
// It goes on to a given time in one go: the common instructions here, all others, and whatever
// meets a FIFO, by the emulator. What it does at the pins carries the exact time of each step.

const CYCLE_NS = 8; // 125 MHz
const SM_INSTR = 0xd8 - 0xc8;
const PULL_NOBLOCK = 0x8080;
const OUT_PINS = 0;
const IN_PINS = 0;
const AUTOPULL = 1 << 17;
/** How far the processor may run ahead of a machine that reads the converters. */
const SLACK_NS = 2000;

export class Machine {
  constructor(chip, block, machine, onPins) {
    Object.assign(this, { chip, block, machine, onPins });
    this.clock = chip.clock;
    this.nextNs = Infinity;
    /** When a machine went to wait for its FIFO with nothing to do meanwhile. */
    this.parkedNs = null;
    this.slackNs = block.index === 1 ? SLACK_NS : 0;
    /** How far it goes on. */
    this.untilNs = 0;
    this.inputs = null;
    this.hook();
  }

  hook() {
    const { machine, clock } = this;
    let enabled = false;
    Object.defineProperty(machine, "enabled", {
      get: () => enabled,
      set: (value) => {
        if (value && !enabled) {
          this.nextNs = clock.nanos;
          this.started();
        }
        if (!value) this.nextNs = Infinity;
        enabled = value;
      },
    });
    const write = machine.writeUint32;
    machine.writeUint32 = (offset, value) => {
      write.call(machine, offset, value);
      if (offset === SM_INSTR) {
        this.unpark();
        // A jump from outside ends a long count at once.
        if ((value & 0xe000) === 0 && enabled) this.nextNs = clock.nanos + this.periodNs();
        this.tell(clock.nanos);
      }
    };
    const push = machine.writeFIFO;
    machine.writeFIFO = (value) => {
      push.call(machine, value);
      this.unpark();
    };
  }

  periodNs() {
    return (this.machine.clockDivInt + this.machine.clockDivFrac / 256) * CYCLE_NS;
  }

  /** Goes on where it would be, had it looked into its FIFO all the time. */
  unpark() {
    if (this.parkedNs === null) return;
    const turnNs = 4 * this.periodNs();
    const turns = Math.ceil((this.clock.nanos - this.parkedNs) / turnNs);
    this.nextNs = this.parkedNs + turns * turnNs;
    this.parkedNs = null;
  }

  tell(ns) {
    const { block } = this;
    const changed = block.oldPinValues ^ block.pinValues;
    if (changed) {
      block.oldPinValues = block.pinValues;
      this.onPins(block.index, block.pinValues, changed, ns);
    }
  }

  /** One instruction by the emulator, at its time. */
  step() {
    const { machine, clock } = this;
    if (clock.nanos < this.nextNs) clock.tick(this.nextNs - clock.nanos);
    const before = machine.cycles;
    machine.step();
    this.tell(this.nextNs);
    this.nextNs += Math.max(1, machine.cycles - before) * this.periodNs();
    // What it asked the DMA for.
    clock.tick(0);
  }

  /** Goes on up to a time, that included; less far when what it does brings something sooner. */
  run(untilNs) {
    this.untilNs = untilNs;
    const { machine, block, onPins, inputs } = this;
    const { index } = block;
    const code = block.instructions;
    const period = this.periodNs();
    const sideBits = machine.sidesetCount;
    const delayMask = (1 << (5 - sideBits)) - 1;
    const sideMask = ((1 << sideBits) - 1) << machine.sidesetBase;
    const sideShift = machine.sidesetBase;
    const outBase = machine.outBase;
    const outMask = ((1 << machine.outCount) - 1) << outBase;
    const { wrapTop, wrapBottom, pullThreshold, pushThreshold } = machine;
    const pulls = (machine.shiftCtrl & AUTOPULL) !== 0 && ((machine.shiftCtrl >> 19) & 1) === 0;
    let { x, y, pc, outputShiftReg, outputShiftCount, inputShiftReg, inputShiftCount } = machine;
    let pins = block.pinValues;
    let ns = this.nextNs;
    while (ns <= this.untilNs) {
      const op = code[pc];
      const kind = op >>> 13;
      const argument = (op >> 5) & 7;
      const low = op & 31;
      let cycles = 1 + ((op >> 8) & delayMask);
      let next = pc === wrapTop ? wrapBottom : pc + 1;
      let now = pins;
      if (sideBits !== 0) now = (pins & ~sideMask) | (((op >> 8) & 31) >> (5 - sideBits) << sideShift);
      if (machine.waiting) {
        next = -1;
      } else if (kind === 0 && argument === 2) {
        if (low === pc) {
          // A jump to itself: all its turns at once.
          cycles *= x + 1;
          x = 0xffffffff;
        } else {
          if (x !== 0) next = low;
          x = (x - 1) >>> 0;
        }
      } else if (kind === 0 && argument === 4) {
        if (low === pc) {
          cycles *= y + 1;
          y = 0xffffffff;
        } else {
          if (y !== 0) next = low;
          y = (y - 1) >>> 0;
        }
      } else if (kind === 7 && argument === 1) {
        x = low;
      } else if (kind === 7 && argument === 2) {
        y = low;
      } else if (kind === 3 && pulls && argument === OUT_PINS && low !== 0 && outputShiftCount < pullThreshold) {
        now = (now & ~outMask) | ((outputShiftReg >>> (32 - low) << outBase) & outMask);
        outputShiftReg <<= low;
        outputShiftCount += low;
      } else if (kind === 2 && inputs !== null && argument === IN_PINS && inputShiftCount + low < pushThreshold) {
        const changed = pins ^ now;
        if (changed !== 0) {
          pins = block.pinValues = block.oldPinValues = now;
          onPins(index, now, changed, ns);
        }
        inputShiftReg = (inputShiftReg << low) | (inputs() & ((1 << low) - 1));
        inputShiftCount += low;
      } else {
        next = -1;
      }
      if (next >= 0) {
        const changed = pins ^ now;
        if (changed !== 0) {
          pins = block.pinValues = block.oldPinValues = now;
          onPins(index, now, changed, ns);
        }
        pc = next;
        ns += cycles * period;
        continue;
      }
      // By the emulator.
      Object.assign(machine, { x, y, pc, outputShiftReg, outputShiftCount, inputShiftReg, inputShiftCount });
      this.nextNs = ns;
      if (op === PULL_NOBLOCK && machine.txFIFO.empty && x >>> 2 === 0 && !machine.waiting) {
        if (this.rested) {
          this.rested = false;
          this.parkedNs = ns;
          this.nextNs = Infinity;
          return;
        }
        // An empty turn: the resting levels out, and nothing to count.
        this.rested = true;
        for (let i = 0; i < 4; i++) this.step();
      } else {
        this.rested = false;
        this.step();
      }
      ({ x, y, pc, outputShiftReg, outputShiftCount, inputShiftReg, inputShiftCount } = machine);
      pins = block.pinValues;
      ns = this.nextNs;
    }
    Object.assign(machine, { x, y, pc, outputShiftReg, outputShiftCount, inputShiftReg, inputShiftCount });
    this.nextNs = ns;
  }
}
