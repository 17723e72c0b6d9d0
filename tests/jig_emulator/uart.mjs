// The serial line: each byte takes its time at 115200 baud, and the FIFO of 32 fills up.

const BYTE_NS = 1e10 / 115_200;
const FIFO = 32;
const ERRORS = 0x04;
const FULL = 1 << 5;
const BUSY = 1 << 3;
const EMPTY = 1 << 7;

export class Uart {
  constructor(tell) {
    this.tell = tell;
    this.incoming = [];
  }

  /** The wires are on a chip that starts. */
  attach(chip) {
    this.clock = chip.clock;
    this.uart = chip.uart[0];
    this.outgoing = [];
    this.freeNs = 0;
    // The error register, which the emulator does not know: nothing was overrun (data sheet, 4.2.8, UARTRSR).
    const read = this.uart.readUint32;
    this.uart.readUint32 = (offset) => (offset === ERRORS ? 0 : read.call(this.uart, offset));
    this.uart.onByte = (byte) => {
      this.freeNs = Math.max(this.clock.nanos, this.freeNs) + BYTE_NS;
      this.outgoing.push([this.freeNs, byte]);
    };
    const own = Object.getOwnPropertyDescriptor(Object.getPrototypeOf(this.uart), "flags").get;
    Object.defineProperty(this.uart, "flags", {
      get: () => {
        const waiting = Math.ceil((this.freeNs - this.clock.nanos) / BYTE_NS);
        const plain = own.call(this.uart) & ~EMPTY;
        return plain | (waiting > FIFO ? FULL : 0) | (waiting > 0 ? BUSY : EMPTY);
      },
    });
  }

  /** Passes on what has left the line by now. */
  sent(ns) {
    let count = 0;
    while (count < this.outgoing.length && this.outgoing[count][0] <= ns) count++;
    if (count > 0) {
      const bytes = this.outgoing.splice(0, count).map(([, byte]) => byte);
      this.tell(`u${Math.round(ns)}:${Buffer.from(bytes).toString("hex")}`);
    }
  }

  /** Bytes from the host go onto the line. */
  receive(bytes, ns) {
    let at = Math.max(ns, this.incoming.length > 0 ? this.incoming[this.incoming.length - 1][0] : 0);
    for (const byte of bytes) this.incoming.push([(at += BYTE_NS), byte]);
  }

  /** The one so far from the end comes with bits of the data register set: 256 framing, 512 parity, 1024 break, 2048 overrun. */
  damage(fromEnd, bits) {
    this.incoming[this.incoming.length - fromEnd][1] |= bits;
  }

  /** A serial line has no way to tell. */
  close() {}

  /** This one stays in. */
  plug() {}

  dueNs() {
    return this.incoming.length > 0 ? this.incoming[0][0] : Infinity;
  }

  turn(ns) {
    while (this.incoming.length > 0 && this.incoming[0][0] <= ns) {
      this.uart.feedByte(this.incoming.shift()[1]);
    }
  }
}
