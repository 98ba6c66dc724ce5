#!/usr/bin/env python3
"""Prints what the kernel costs, beside ipykernel in the same run.

    .venv/bin/python testdata/jupyter/figures.py [--runs 5] [--count 500]

Both kernels are started afresh and in turn, so that both see the same machine; medians of all runs. COUNTERPOISE names
the program; without it, it is built. Memory is the resident memory of a kernel's process and its children.
Exit status 1 if a figure misses its bar.
"""
import argparse
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

import psutil
import zmq
from jupyter_client.manager import KernelManager
from jupyter_client.session import Session

ROOT = pathlib.Path(__file__).resolve().parents[2]
LINES = 10000
CELLS = {
    "python3": {"lines": "for i in range(%d): print('lantern', i)" % LINES, "complete": "sorte", "inspect": "sorted"},
    "counterpoise": {
        "lines": 'import "fmt"\nfor i := range %d {\n\tfmt.Println("lantern", i)\n}' % LINES,
        "complete": "strings.EqualF",
        "inspect": "strings.EqualFold",
    },
}
# what is measured, its unit, and the bar: of ipykernel's figure (x) or in the unit itself
MEASURES = [
    ("first result after a cold start", "ms", "x", 0.2),
    ("trivial cell, p50", "ms", "x", 0.35),
    ("%d printed lines" % LINES, "ms", "x", 0.3),
    ("memory after the first result", "MiB", "x", 0.7),
    ("completion, p50", "ms", "", 3),
    ("inspection, p50", "ms", "", 3),
]


class Kernel:
    def __init__(self, name):
        began = time.perf_counter()
        self.manager = KernelManager(kernel_name=name)
        self.manager.start_kernel(stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self.first_cell()
        self.first = time.perf_counter() - began
        self.first_memory = self.memory()
        self.client = self.manager.blocking_client()
        self.client.start_channels(hb=False)
        self.client.wait_for_ready(timeout=60)

    def first_cell(self):
        """Runs a cell over a plain socket: the client's own waits would hide what is measured."""
        info = self.manager.get_connection_info(session=False)
        socket = zmq.Context.instance().socket(zmq.DEALER)
        socket.linger, socket.reconnect_ivl, socket.reconnect_ivl_max = 0, 2, 2
        socket.connect("tcp://%s:%d" % (info["ip"], info["shell_port"]))
        session = Session(key=info["key"])
        session.send(socket, "execute_request", {"code": "1 + 1", "silent": False})
        assert socket.poll(60000), "no reply"
        socket.close()

    def timed(self, request):
        """Seconds until a request has its reply and its idle; the reply; the printed text."""
        began = time.perf_counter()
        number = request()
        printed, idle, reply = [], False, None
        while not idle:
            m = self.client.get_iopub_msg(timeout=60)
            if m["parent_header"].get("msg_id") == number:
                idle = m["content"].get("execution_state") == "idle"
                printed.append(m["content"].get("text", ""))
        while reply is None:
            m = self.client.get_shell_msg(timeout=60)
            if m["parent_header"].get("msg_id") == number:
                reply = m
        took = time.perf_counter() - began
        assert reply["content"]["status"] == "ok", reply["content"]
        return took, reply["content"], "".join(printed)

    def memory(self):
        process = psutil.Process(self.manager.provisioner.pid)
        return sum(p.memory_info().rss for p in [process] + process.children(recursive=True)) / 2**20

    def close(self):
        self.client.stop_channels()
        self.manager.shutdown_kernel(now=True)


def measure(name, count):
    """One figure for each of MEASURES, from a kernel of its own."""
    kernel = Kernel(name)
    try:
        cells = CELLS[name]
        cell = [kernel.timed(lambda: kernel.client.execute("1 + 1"))[0] for _ in range(count)]
        lines, _, printed = kernel.timed(lambda: kernel.client.execute(cells["lines"]))
        assert printed == "".join("lantern %d\n" % i for i in range(LINES)), "lines are missing or out of order"
        if name == "counterpoise":
            kernel.timed(lambda: kernel.client.execute('import "strings"'))
        complete = [kernel.timed(lambda: kernel.client.complete(cells["complete"])) for _ in range(count // 5)]
        assert all(reply["matches"] for _, reply, _ in complete)
        inspect = [kernel.timed(lambda: kernel.client.inspect(cells["inspect"])) for _ in range(count // 5)]
        assert all(reply["found"] for _, reply, _ in inspect)
        p50 = statistics.median
        return [1e3 * kernel.first, 1e3 * p50(cell), 1e3 * lines, kernel.first_memory,
                1e3 * p50(t for t, _, _ in complete), 1e3 * p50(t for t, _, _ in inspect)]
    finally:
        kernel.close()


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=5, help="fresh starts of each kernel (default 5)")
    parser.add_argument("--count", type=int, default=500, help="trivial cells a run (default 500)")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        program = os.environ.get("COUNTERPOISE") or os.path.join(place, "counterpoise")
        if "COUNTERPOISE" not in os.environ:
            subprocess.run(["go", "build", "-o", program, "./kernel/cmd/counterpoise"], cwd=ROOT, check=True)
        subprocess.run([program, "kernel", "install", "--prefix", place], check=True, stdout=subprocess.DEVNULL)
        os.environ["JUPYTER_PATH"] = os.path.join(place, "share", "jupyter")
        runs = {"python3": [], "counterpoise": []}
        for _ in range(options.runs):
            for name, all_runs in runs.items():
                all_runs.append(measure(name, options.count))
    missed = 0
    print("%-34s %10s %10s %7s %7s" % ("", "ipykernel", "ours", "ratio", "bar"))
    for i, (what, unit, relative, bar) in enumerate(MEASURES):
        theirs, ours = (statistics.median(r[i] for r in runs[name]) for name in ("python3", "counterpoise"))
        missed += (ours / theirs if relative else ours) > bar
        print("%-34s %10.2f %10.2f %7.2f %7s" % (what + ", " + unit, theirs, ours, ours / theirs, "%g%s" % (bar, relative)))
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
