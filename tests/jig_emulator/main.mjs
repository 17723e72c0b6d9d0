// Runs the jig's firmware, and asks whoever started it what the module, the loads and the host do.
//
//     node main.mjs FIRMWARE uart|usb SLOWNESS
//
// A line out: the emulated time in nanoseconds, what is wanted (`q` what stands at the converters'
// inputs, `b` nothing but the host's bytes), and what has happened since the last line. The line
// that comes back: until when nothing changes by itself, how soon after an edge of the feed
// something may, flags (1 feed tripped, 2 loads tripped, 4 ask soon, 8 end, 16 panic, 32 hang, 64 the host
// closes the port, 128 a hand has been at work, 256 hang with interrupts off, 512 the cable is out, 1024 the
// interlock is open, 2048 fault, 4096 the supervisor holds the latches, 8192 the analogue supply is out, 16384
// the stack is nearly full), bytes from the host as hexadecimal digits or `-`, and 24 numbers where asked for.
// `@` behind the bytes, the place of one and a number: that one comes with these bits of the UART's data
// register set.

import { readSync, writeSync } from "node:fs";
import { Chip } from "./chip.mjs";
import { Converters } from "./converters.mjs";
import { Board } from "./electronics.mjs";
import { Uart } from "./uart.mjs";
import { Usb } from "./usb.mjs";

const BYTES_NS = 500_000;
const SOON_NS = 4_000;
const SCAN_NS = 32_000;

const events = [];
let stillNs = 0;
let edgeNs = Infinity;
let afterEdgeNs = 0;
let inputs = null;
let takenNs = -Infinity;
let askedNs = 0;
let everyNs = BYTES_NS;
let over = false;

const pending = Buffer.alloc(65536);
let filled = 0;
function readLine() {
  for (;;) {
    const end = pending.subarray(0, filled).indexOf(10);
    if (end >= 0) {
      const line = pending.toString("latin1", 0, end);
      pending.copy(pending, 0, end + 1, filled);
      filled -= end + 1;
      return line;
    }
    const count = readSync(0, pending, filled, pending.length - filled, null);
    if (count === 0) process.exit(0);
    filled += count;
  }
}

function ask(ns, what) {
  const known = areFresh(ns);
  line.sent(ns);
  let words = `${Math.round(ns)} ${what}`;
  for (const event of events) words += ` ${event}`;
  events.length = 0;
  writeSync(1, words + "\n");
  const [still, after, flags, bytes, ...steps] = readLine().split(" ");
  stillNs = Number(still);
  afterEdgeNs = Number(after);
  edgeNs = Infinity;
  askedNs = ns;
  everyNs = flags & 4 ? SOON_NS : BYTES_NS;
  if (flags & 4) chip.noFurtherThan(ns + SOON_NS);
  over = (flags & 8) !== 0;
  if (flags & 16) chip.panic();
  if (flags & 32) chip.hang(true);
  if (flags & 64) line.close();
  if (flags & 2048) chip.fault();
  if (flags & 256) chip.hang(false);
  if (flags & 16384) chip.fillStack();
  board.latches.hold((flags & 4096) !== 0, ns);
  board.analogue((flags & 8192) === 0, ns);
  line.plug((flags & 512) === 0);
  board.interlock((flags & 1024) !== 0);
  if (bytes !== "-") {
    const [digits, at, bits] = bytes.split("@");
    line.receive(Buffer.from(digits, "hex"), ns);
    if (at !== undefined) line.damage(digits.length / 2 - Number(at), Number(bits));
  }
  if (what === "q") {
    inputs = steps.map(Number);
    takenNs = ns;
  } else if (!known || flags & 128) {
    inputs = null;
  }
  board.trip((flags & 1) !== 0, (flags & 2) !== 0, ns);
}

/** Whether what was told of the inputs still holds. */
function areFresh(ns) {
  if (inputs === null || ns >= Math.min(stillNs, edgeNs + afterEdgeNs)) return false;
  return !events.some((e) => e[0] !== "f" && e[0] !== "u");
}

/** What stands at the converters' inputs. */
function look(ns) {
  const within = inputs !== null && ns - takenNs < SCAN_NS - 2_000;
  if (!within && !areFresh(ns)) ask(ns, "q");
  return inputs;
}

function complain(what, ns) {
  process.stderr.write(`converters at ${ns} ns: ${what}\n`);
  process.exit(3);
}

const converters = new Converters(look, () => board.hasAnalogue, complain);
const tell = (event) => events.push(event);
const line = process.argv[3] === "usb" ? new Usb(tell) : new Uart(tell);
const board = new Board(tell);
const chip = new Chip(process.argv[2], {
  onPins(block, values, changed, ns) {
    if (block === 1) {
      converters.onPins(values, changed, ns);
    } else if (changed & 0b1100 && board.drivesWires()) {
      edgeNs = Math.min(edgeNs, ns);
      board.onWires((values >>> 2) & 3, ns);
    }
  },
  due: () => Math.min(askedNs + everyNs, board.dueNs(chip.clock.nanos), line.dueNs()),
  turn() {
    const ns = chip.clock.nanos;
    line.turn(ns);
    board.refresh(ns);
    if (ns >= askedNs + everyNs) ask(ns, "b");
  },
  slowness: Number(process.argv[4]),
  onStart(started) {
    chip.readConverters(() => converters.data);
    line.attach(started);
    board.attach(started);
  },
});
chip.start();
while (!over) chip.runUntil(chip.clock.nanos + 1e6);
const stack = chip.stack();
process.stderr.write(
  `emulated ${(chip.clock.nanos / 1e9).toFixed(3)} s, processor asleep ${((100 * chip.idleNs) / chip.clock.nanos).toFixed(1)} %, ` +
  `stack ${stack.deepest} of ${stack.room} bytes, interrupts held back for at most ` +
  `${(chip.longestClosedNs / 1e3).toFixed(1)} us, longest turn of the main loop ` +
  `${(chip.watchdog.longestNs / 1e3).toFixed(0)} us, ${chip.watchdog.bites} resets, ${converters.conversions} conversions\n`,
);
process.exit(0);
