// The USB serial port, and a host's driver that has it open.

import { USBCDC } from "rp2040js";

const PACKET = 64;
/** Data terminal ready, request to send. */
const LINES_ON = 3;
/** The driver looks after the port so often. */
const LOOK_NS = 1e6;

export class Usb {
  constructor(chip, tell) {
    this.clock = chip.clock;
    this.usb = chip.usbCtrl;
    this.tell = tell;
    this.waiting = [];
    this.open = false;
    this.connected = false;
    this.room = null;
    this.lookNs = Infinity;
    const cdc = new USBCDC(this.usb);
    this.cdc = cdc;
    // Class request to the interface (CDC PSTN 1.2, 6.3.14); the emulator's driver asks the device.
    cdc.cdcSetControlLineState = (lines = LINES_ON) => {
      this.usb.sendSetupPacket(new Uint8Array([0x21, 0x22, lines, 0, 0, 0, 0, 0]));
      cdc.initialized = true;
    };
    // The emulator's driver forgets a device that was ready for bytes before it had any to send.
    this.usb.onEndpointRead = (endpoint, size) => {
      if (endpoint > 0) this.room = { endpoint, size };
      this.deliver();
    };
    cdc.onDeviceConnected = () => {
      this.connected = true;
      this.open = true;
      this.deliver();
    };
    cdc.onSerialData = (bytes) => {
      if (bytes.length > 0) tell(`u${Math.round(this.clock.nanos)}:${Buffer.from(bytes).toString("hex")}`);
    };
  }

  deliver() {
    if (!this.open || this.room === null || this.waiting.length === 0) return;
    const { endpoint, size } = this.room;
    this.room = null;
    this.usb.endpointReadDone(endpoint, Buffer.from(this.waiting.splice(0, Math.min(size, PACKET))));
  }

  sent() {}

  receive(bytes) {
    this.waiting.push(...bytes);
    if (this.connected && !this.open) {
      this.open = true;
      this.cdc.cdcSetControlLineState();
      this.lookNs = this.clock.nanos + LOOK_NS;
    } else {
      this.deliver();
    }
  }

  /** The program on the host has closed the port. */
  close() {
    this.waiting = [];
    if (!this.open) return;
    this.open = false;
    this.cdc.cdcSetControlLineState(0);
  }

  dueNs() {
    return this.lookNs;
  }

  turn() {
    this.lookNs = Infinity;
    this.deliver();
  }
}
