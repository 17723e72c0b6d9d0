// The USB serial port, and a host's driver: it enumerates the device as USB 2.0, chapter 9, has it, and
// opens and closes the port as the communications class (CDC PSTN 1.2) has it.
//
// The driver that comes with the emulator is not used: it begins the next transfer 10 us after the
// address was set. A host has to leave the device 2 ms there (USB 2.0, 9.2.6.3), and a device that is
// asked sooner takes the end of a later transfer for that of the first one, and never is configured.

const PACKET = 64;
/** After a reset of the bus, before the first transfer (7.1.7.5). */
const RECOVERY_NS = 10e6;
/** After the address was set, before the next transfer: no host may be quicker (9.2.6.3). */
const ADDRESS_NS = 2e6;
/** Between the end of one control transfer and the next. */
const BETWEEN_NS = 100e3;
/** A bus that is idle for so long is suspended (7.1.7.6). */
const SUSPEND_NS = 3e6;
/** Data terminal ready, request to send. */
const LINES_ON = 3;

/** Register SIE_STATUS, and its bit for a suspended bus, which a written one clears. */
const SIE_STATUS = 0x50;
const SUSPENDED = 1 << 4;

/** Requests: `read` takes the data stage of those that have one. */
const SET_ADDRESS = [0x00, 5, 1, 0, 0, 0, 0, 0];
const SET_CONFIGURATION = [0x00, 9, 1, 0, 0, 0, 0, 0];
const lines = (value) => [0x21, 0x22, value, 0, 0, 0, 0, 0];
const descriptor = (type, bytes) => [0x80, 6, 0, type, 0, 0, bytes & 0xff, bytes >> 8];
const [DEVICE, CONFIGURATION, ENDPOINT] = [1, 2, 5];
const BULK = 2;

/** The numbers of the endpoints that carry data, both of the bulk kind. */
function bulkEndpoints(descriptors) {
  const found = {};
  for (let at = 0; at < descriptors.length; at += descriptors[at]) {
    if (descriptors[at + 1] !== ENDPOINT || (descriptors[at + 3] & 3) !== BULK) continue;
    const address = descriptors[at + 2];
    found[address & 0x80 ? "in" : "out"] = address & 0xf;
  }
  return found;
}

export class Usb {
  constructor(tell) {
    this.tell = tell;
    /** A program has the port open; the cable is in. */
    this.open = false;
    this.plugged = true;
    this.forget();
  }

  /** No device is there any more. */
  forget() {
    this.waiting = [];
    this.configured = false;
    /** What the device is ready to take. */
    this.room = null;
    /** Control transfers to come, the one under way, and what has come of its data. */
    this.transfers = [];
    this.transfer = null;
    this.data = [];
    this.nextNs = Infinity;
    this.endpoints = {};
  }

  /** The port of a chip that starts. */
  attach(chip) {
    this.forget();
    this.clock = chip.clock;
    this.usb = chip.usbCtrl;
    this.usb.onUSBEnabled = () => this.plugged && this.usb.resetDevice();
    this.usb.onResetReceived = () => this.enumerate();
    this.usb.onEndpointWrite = (endpoint, bytes) => this.sentByDevice(endpoint, bytes);
    this.usb.onEndpointRead = (endpoint, size) => {
      if (endpoint > 0) this.room = { endpoint, size };
      this.deliver();
    };
    const write = this.usb.writeUint32;
    this.usb.writeUint32 = (offset, value) => {
      if (offset === SIE_STATUS) this.usb.sieStatus &= ~(this.usb.rawWriteValue & SUSPENDED);
      write.call(this.usb, offset, value);
    };
  }

  /** The bus has been reset: who are you? */
  enumerate() {
    this.transfers = [
      { setup: SET_ADDRESS, thenNs: ADDRESS_NS },
      { setup: descriptor(DEVICE, 18) },
      { setup: descriptor(CONFIGURATION, 9), read: (bytes) => this.configure(bytes[2] | (bytes[3] << 8)) },
    ];
    this.nextNs = this.clock.nanos + RECOVERY_NS;
  }

  configure(size) {
    this.transfers = [
      { setup: descriptor(CONFIGURATION, size), read: (bytes) => (this.endpoints = bulkEndpoints(bytes)) },
      { setup: SET_CONFIGURATION, done: () => (this.configured = true) },
    ];
    if (this.open) this.transfers.push({ setup: lines(LINES_ON) });
  }

  /** The next control transfer, if none is under way. */
  begin() {
    this.nextNs = Infinity;
    if (this.transfer !== null || this.transfers.length === 0) return;
    this.transfer = this.transfers.shift();
    this.data = [];
    this.usb.sendSetupPacket(new Uint8Array(this.transfer.setup));
  }

  sentByDevice(endpoint, bytes) {
    if (!this.plugged) return;
    if (endpoint === 0) this.controlled(bytes);
    else if (endpoint === this.endpoints.in && bytes.length > 0) {
      this.tell(`u${Math.round(this.clock.nanos)}:${Buffer.from(bytes).toString("hex")}`);
    }
  }

  /** A packet of a control transfer: data, or the status of a request without. */
  controlled(bytes) {
    const { transfer } = this;
    if (transfer === null) return;
    this.data.push(...bytes);
    const asked = transfer.setup[0] & 0x80 ? transfer.setup[6] | (transfer.setup[7] << 8) : 0;
    if (bytes.length === PACKET && this.data.length < asked) return;
    // The status stage of a read.
    if (asked > 0) this.usb.endpointReadDone(0, new Uint8Array(0));
    this.transfer = null;
    this.nextNs = this.clock.nanos + (transfer.thenNs ?? BETWEEN_NS);
    transfer.read?.(this.data);
    transfer.done?.();
    this.deliver();
  }

  control(setup) {
    this.transfers.push({ setup });
    if (this.transfer === null && this.nextNs === Infinity) this.nextNs = this.clock.nanos;
  }

  deliver() {
    const { room, waiting } = this;
    const ready = this.open && this.configured && this.transfers.length === 0 && this.transfer === null;
    if (!ready || room === null || waiting.length === 0) return;
    this.room = null;
    this.usb.endpointReadDone(room.endpoint, Buffer.from(waiting.splice(0, Math.min(room.size, PACKET))));
  }

  sent() {}

  receive(bytes) {
    if (!this.plugged) return;
    this.waiting.push(...bytes);
    if (!this.open) {
      this.open = true;
      if (this.configured) this.control(lines(LINES_ON));
    }
    this.deliver();
  }

  /** The program on the host has closed the port. */
  close() {
    this.waiting = [];
    if (!this.open) return;
    this.open = false;
    if (this.plugged) this.control(lines(0));
  }

  /** Somebody pulls the cable out, or puts it back. */
  plug(plugged) {
    if (plugged === this.plugged) return;
    this.plugged = plugged;
    this.forget();
    if (plugged) this.usb.resetDevice();
    else this.nextNs = this.clock.nanos + SUSPEND_NS;
  }

  dueNs() {
    return this.nextNs;
  }

  turn(ns) {
    if (ns < this.nextNs) return;
    if (this.plugged) {
      this.begin();
    } else {
      this.nextNs = Infinity;
      this.usb.sieStatus |= SUSPENDED;
      this.usb.sieStatusUpdated();
    }
  }
}
