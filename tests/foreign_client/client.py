"""Drives `musterbench simulate` with a general instrument library.

The library knows IEEE 488.2 and nothing of us: what it finds wrong is a fault of the jig's
language. Run: client.py <path of the musterbench program>
"""

import os
import struct
import subprocess
import sys
import tempfile
import time
import zlib

import pyvisa

PASSED = 0
FAILED = 0


def check(what, good, seen=""):
    global PASSED, FAILED
    if good:
        PASSED += 1
    else:
        FAILED += 1
        print(f"FAILED: {what}: {seen!r}")


def error_number(jig):
    return int(jig.query("SYST:ERR?").split(",")[0])


def drain(jig):
    for _ in range(64):
        if error_number(jig) == 0:
            return


def refuses(jig, line, number):
    """The line is refused with this standard number, and nothing else is wrong."""
    jig.write("*CLS")
    jig.write(line)
    seen = error_number(jig)
    check(f"{line[:40]!r} gives {number}", seen == number, seen)
    drain(jig)


def common_commands(jig):
    idn = jig.query("*IDN?").split(",")
    check("*IDN? has four fields", len(idn) == 4, idn)
    check("*IDN? says who", idn[0] == "musterbench", idn)
    check("*IDN? says that it is simulated", idn[1] == "simulated bench", idn)
    check("*TST? is good", jig.query("*TST?") == "0")

    check("power-on is told once", int(jig.query("*ESR?")) & 128 == 128)
    check("reading clears it", int(jig.query("*ESR?")) == 0)
    jig.write("*CLS")
    jig.write("*ESE 61")
    check("*ESE reads back", jig.query("*ESE?") == "61")
    jig.write("*SRE 48")
    check("*SRE reads back", jig.query("*SRE?") == "48")
    jig.write("*SRE 255")
    check("*SRE never holds bit 6", jig.query("*SRE?") == "191")
    jig.write("*SRE 32")
    check("status byte is clear", int(jig.query("*STB?")) & ~16 == 0)

    jig.write("*OPC")
    check("*OPC sets its bit", int(jig.query("*ESR?")) & 1 == 1)
    check("*OPC? answers 1", jig.query("*OPC?") == "1")
    jig.write("*WAI")
    check("*WAI does not block for ever", jig.query("*OPC?") == "1")

    jig.write("*CLS")
    jig.write("NO:SUCH:HEADER")
    stb = int(jig.query("*STB?"))
    check("an error shows in the status byte: queue", stb & 4 == 4, stb)
    check("an error shows in the status byte: event", stb & 32 == 32, stb)
    check("an error shows in the status byte: summary", stb & 64 == 64, stb)
    check("command error bit", int(jig.query("*ESR?")) & 32 == 32)
    check("the queue tells it", error_number(jig) == -113)
    check("then it is empty", jig.query("SYST:ERR?") == '0,"No error"')
    jig.write("NO:SUCH:HEADER")
    jig.write("*CLS")
    check("*CLS empties the queue", error_number(jig) == 0)
    jig.write("*ESE 1")
    jig.write("*RST")
    check("*RST leaves the masks", jig.query("*ESE?") == "1")
    jig.write("*ESE 0;*SRE 0")


def tree(jig):
    check("version", jig.query("SYST:VERS?") == "1999.0")
    check("long form", jig.query("SYSTem:VERSion?") == "1999.0")
    check("case does not matter", jig.query("syst:vers?") == "1999.0")
    both = jig.query("SYST:VERS?;:OUTP1?").split(";")
    check("two queries in one line", both == ["1999.0", "0"], both)
    check("relative path", len(jig.query("STAT:OPER:COND?;ENAB?").split(";")) == 2)
    a = int(jig.query("SYST:CLOC?"))
    b = int(jig.query("SYST:CLOC?"))
    check("the clock runs", b > a, (a, b))
    jig.write("STAT:OPER:ENAB 8;:STAT:PRES")
    check("preset clears the masks", jig.query("STAT:OPER:ENAB?") == "0")
    jig.write("SOUR1:CURR:PROT 800 MA")
    check("unit suffix", float(jig.query("SOUR1:CURR:PROT?")) == 0.8)
    jig.write("SOUR1:CURR:PROT DEF")
    jig.write("ROUT:CLOS (@301:303, 305)")
    closed = jig.query("ROUT:CLOS? (@301:308)")
    check("channel list", closed == "1,1,1,0,1,0,0,0", closed)
    jig.write("ROUT:OPEN:ALL")
    closed = jig.query("ROUT:CLOS? (@301:308)")
    check("open all", closed == "0,0,0,0,0,0,0,0", closed)
    fields = jig.query("SYST:CHAN:DESC? (@101)").split(",")
    check("a channel describes itself", len(fields) == 11 and fields[0] == "101", fields)
    check("a current reads as a number", abs(float(jig.query("MEAS:CURR? (@101)"))) < 0.1)
    check("no errors on the way", error_number(jig) == 0)


def refusals(jig):
    refuses(jig, "OUTP1", -109)
    refuses(jig, "OUTP1 ON,OFF", -108)
    refuses(jig, "OUTP9 ON", -114)
    refuses(jig, "OUTP1 MAYBE", -224)
    refuses(jig, "*ESE 300", -222)
    refuses(jig, "SYST:SIL 1e999", -222)
    refuses(jig, "SYST:SIL 1e40000", -123)
    refuses(jig, "SYST:SIL 2 V", -131)
    refuses(jig, "ROUT:CLOS (@999)", -222)
    refuses(jig, "ROUT:CLOS 301", -128)
    refuses(jig, "SENS:SWE:POIN #15abcde", -168)
    refuses(jig, 'SYST:SIL "5"', -158)
    refuses(jig, "*RST?", -113)
    refuses(jig, "SYST:VERS", -113)
    refuses(jig, "OUTP2:POL INV", -114)
    refuses(jig, "X" * 600, -363)
    refuses(jig, ":OUTP1:::STAT ON", -110)
    refuses(jig, "OUTP1 @ON", -102)
    jig.write("*CLS")
    jig.write("*IDN?;*ESR?")
    idn = jig.read()
    check("*IDN? is answered, the query after it is not", idn.startswith("musterbench,"), idn)
    seen = error_number(jig)
    check("a query after *IDN? gives -440", seen == -440, seen)
    jig.write("*CLS")
    for _ in range(40):
        jig.write("NO:SUCH")
    count = int(jig.query("SYST:ERR:COUN?"))
    numbers = [error_number(jig) for _ in range(count)]
    check("the queue is bounded", numbers and numbers[-1] == -350, numbers)
    check("the feed is still off", jig.query("OUTP1?") == "0")


def capture(jig):
    jig.write("*CLS")
    jig.write("OUTP2 ON")
    jig.write("ROUT:SCAN (@3,101)")
    jig.write("SENS:SWE:POIN 2000;TINT 200 US;OFFS:POIN 0;:SENS:AVER:COUN 1")
    jig.write("TRIG:SOUR IMM;:INIT")
    check("*OPC? waits for the capture", jig.query("*OPC?") == "1")
    pre = jig.query("FETC:PRE?").split(",")
    check("the capture is done", pre[1] == "DONE", pre)
    check("it has its points", int(pre[2]) == 2000, pre)
    counts = jig.query_binary_values("FETC?", datatype="h", is_big_endian=False)
    check("one call reads the block", len(counts) == 4000, len(counts))
    crc = zlib.crc32(struct.pack(f"<{len(counts)}h", *counts))
    check("its CRC is the preamble's", pre[7] == f"#H{crc:08X}", (pre[7], f"{crc:08X}"))
    again = jig.query_binary_values("FETC?", datatype="h", is_big_endian=False)
    check("asking twice is harmless", counts == again)
    part = jig.query_binary_values(f"FETC? {pre[0]},8,16", datatype="h", is_big_endian=False)
    check("a part by identity and offset", part == counts[4:12], part)
    scale, offset = float(pre[10]), float(pre[11])
    volts = [offset + scale * c for c in counts[0::2]]
    mean = sum(volts) / len(volts)
    meter = float(jig.query("MEAS:VOLT? (@3)"))
    check("the block reads what the meter reads", abs(mean - meter) < 0.1, (mean, meter))
    check("the load supply is on", mean > 5, mean)
    jig.write("OUTP2 OFF")
    check("no errors on the way", error_number(jig) == 0)


def power(jig):
    jig.write("*CLS")
    jig.write("OUTP1 ON")
    check("*OPC? waits for the soft start", jig.query("*OPC?") == "1")
    check("the feed is on", jig.query("OUTP1?") == "1")
    charge = jig.query("OUTP1:CHAR?").split(",")
    check("the soft start is recorded", float(charge[0]) > 0 and charge[2] == "1", charge)
    refuses(jig, "OUTP1:POL INV", 105)
    check("the feed has its voltage", float(jig.query("MEAS:VOLT? (@1)")) > 5)
    jig.write("DRIV:PACK 2,#H81,#HF8,#H79")
    check("*OPC? waits for the command", jig.query("*OPC?") == "1")
    check("it was sent", int(jig.query("DRIV:SENT?").split(",")[0]) >= 1)
    refuses(jig, "MEAS:RES? (@701)", 106)
    jig.write("*RST")
    check("a reset turns the feed off", jig.query("OUTP1?") == "0")
    check("nothing carried over", error_number(jig) == 0)
    jig.write("OUTP1 ON;SYST:SIL 0.5")
    jig.query("*OPC?")
    time.sleep(1.2)
    check("silence turns the feed off", jig.query("OUTP1?") == "0")


def socket(program):
    """The same language behind a socket, by the library's own kind of resource for that."""
    bench = subprocess.Popen([program, "simulate", "--seed", "7", "--listen", "127.0.0.1:0"],
                             stdout=subprocess.PIPE, text=True)
    try:
        _, host, port = bench.stdout.readline().strip().split(":")
        call = lambda: pyvisa.ResourceManager("@py").open_resource(
            f"TCPIP::{host}::{port}::SOCKET", read_termination="\n", write_termination="\n",
            timeout=5000)
        jig = call()
        for part in (common_commands, tree, refusals, capture, power):
            part(jig)
        jig.write("OUTP1 ON")
        check("the feed is on behind the socket", jig.query("OUTP1?") == "1")
        jig.close()
        jig = call()
        check("closing the socket turns the feed off", jig.query("OUTP1?") == "0")
        jig.close()
    finally:
        bench.terminate()
        bench.wait(timeout=10)


def main():
    program = sys.argv[1]
    socket(program)
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "jig")
        bench = subprocess.Popen([program, "simulate", "--seed", "7", "--path-at", path],
                                 stdout=subprocess.PIPE, text=True)
        try:
            bench.stdout.readline()
            for _ in range(100):
                if os.path.exists(path):
                    break
                time.sleep(0.05)
            device = os.path.realpath(path)
            jig = pyvisa.ResourceManager("@py").open_resource(
                f"ASRL{device}::INSTR", baud_rate=115200, read_termination="\n",
                write_termination="\n", timeout=5000)
            for part in (common_commands, tree, refusals, capture, power):
                part(jig)
            jig.close()
        finally:
            bench.terminate()
            bench.wait(timeout=10)
    print(f"{PASSED} passed, {FAILED} failed")
    sys.exit(1 if FAILED else 0)


if __name__ == "__main__":
    main()
