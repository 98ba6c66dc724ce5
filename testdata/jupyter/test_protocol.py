"""Rules of Jupyter's messaging protocol 5.5, seen from a real client.

https://jupyter-client.readthedocs.io/en/stable/messaging.html
"""
import time

import zmq
from conftest import WAIT, Kernel

SLEEP = 'import "time"\ntime.Sleep(600 * time.Second)'


def kinds(shown):
    return [m["content"]["execution_state"] if m["msg_type"] == "status" else m["msg_type"] for m in shown]


def text(shown):
    return "".join(m["content"]["text"] for m in shown if m["msg_type"] == "stream")


def test_order(kernel):
    content, shown = kernel.run('import "fmt"\nfmt.Println("first")\n6 * 7')
    assert content["status"] == "ok"
    assert kinds(shown) == ["busy", "execute_input", "stream", "execute_result", "idle"]


def test_headers(kernel):
    _, shown = kernel.run("1")
    ids = [m["header"]["msg_id"] for m in shown]
    assert len(set(ids)) == len(ids)
    sessions = {m["header"]["session"] for m in shown}
    assert len(sessions) == 1 and sessions != {kernel.client.session.session}
    assert all(m["header"]["date"].tzinfo for m in shown)


def test_lines(kernel):
    content, shown = kernel.run('import "fmt"\nfor i := range 10000 {\n\tfmt.Println("lantern", i)\n}')
    assert content["status"] == "ok"
    assert text(shown) == "".join("lantern %d\n" % i for i in range(10000))


def test_two_clients(kernel):
    other = kernel.manager.client()
    other.start_channels()
    try:
        other.wait_for_ready(timeout=WAIT)
        request = other.execute("3 * 3")
        assert other.get_shell_msg(timeout=WAIT)["parent_header"]["msg_id"] == request
        seen = kernel.shown(request)  # the first client sees the second one's cell
        assert kinds(seen) == ["busy", "execute_input", "execute_result", "idle"]
    finally:
        other.stop_channels()


def test_welcome(kernel):
    info = kernel.manager.get_connection_info(session=False)
    context = zmq.Context()
    socket = context.socket(zmq.SUB)
    try:
        socket.subscribe(b"")
        socket.connect("tcp://%s:%d" % (info["ip"], info["iopub_port"]))
        assert socket.poll(WAIT * 1000)
        _, parts = kernel.client.session.feed_identities(socket.recv_multipart())
        message = kernel.client.session.deserialize(parts)
        assert (message["msg_type"], message["parent_header"]) == ("iopub_welcome", {})
        assert message["content"] == {"subscription": ""}
    finally:
        socket.close(0)
        context.term()


def test_stdin(kernel):
    request = kernel.client.execute('Ask("which bird? ")', allow_stdin=True)
    asked = kernel.client.get_stdin_msg(timeout=WAIT)
    assert asked["msg_type"] == "input_request"
    assert asked["content"] == {"prompt": "which bird? ", "password": False}
    kernel.client.input("egret")
    shown = kernel.shown(request)
    assert [m["content"]["data"]["text/plain"] for m in shown if m["msg_type"] == "execute_result"] == ['"egret"']
    assert kernel.reply(request)["content"]["status"] == "ok"
    content, _ = kernel.run('Ask("which bird? ")', allow_stdin=False)
    assert content["status"] == "error"


def test_stop_on_error(kernel):
    first = kernel.client.execute('import "time"\ntime.Sleep(300 * time.Millisecond)\npanic("slipped")')
    rest = [kernel.client.execute("1") for _ in range(3)]
    assert kernel.reply(first)["content"]["status"] == "error"
    assert [kernel.reply(r)["content"]["status"] for r in rest] == ["aborted"] * 3
    assert kernel.value("1") == "1"


def test_interrupt(kernel):
    kernel.run("kept := 12321")
    for code in ("for {\n}", SLEEP, "select {}", "var none chan int\n<-none", 'import "fmt"\nfor {\n\tfmt.Println("on")\n}'):
        request = kernel.client.execute(code)
        kernel.until(kernel.client.get_iopub_msg, lambda m: m["msg_type"] == "execute_input" and m["parent_header"]["msg_id"] == request)
        time.sleep(0.1)  # it may be interrupted at any time; here it should have begun
        kernel.manager.interrupt_kernel()
        assert kernel.reply(request)["content"]["status"] == "error", code
        kernel.shown(request)
        assert kernel.value("kept") == "12321", code


def test_late_output(kernel):
    first = kernel.client.execute('import (\n\t"fmt"\n\t"time"\n)\ngo func() {\n\ttime.Sleep(300 * time.Millisecond)\n\tfmt.Println("late")\n}()')
    kernel.reply(first)
    kernel.shown(first)
    kernel.run("1")
    late = kernel.until(kernel.client.get_iopub_msg, lambda m: m["msg_type"] == "stream")
    assert late["parent_header"]["msg_id"] == first
    assert late["content"]["text"] == "late\n"


def test_lost_state_is_told(kernel):
    """Two goroutines on one map end a Go process; ours goes on and says so."""
    kernel.run("kept := 12321")
    content, _ = kernel.run('import "time"\nraced := map[int]int{}\nfor range 8 {\n\tgo func() {\n\t\tfor {\n\t\t\traced[1]++\n\t\t}\n\t}()\n}\ntime.Sleep(20 * time.Second)')
    assert content["status"] == "error"
    assert "gone" in content["evalue"]
    assert kernel.run("kept")[0]["status"] == "error"
    assert kernel.value("1 + 1") == "2"


def test_complete_counts_code_points(kernel):
    code = 's := "𝐚"; strings.ToUpp'
    content = kernel.reply(kernel.client.complete(code, len(code)))["content"]
    assert "ToUpper" in content["matches"]
    assert (content["cursor_start"], content["cursor_end"]) == (len(code) - 5, len(code))
    types = content["metadata"]["_jupyter_types_experimental"]
    assert [t["text"] for t in types] == content["matches"]


def test_update_display(kernel):
    _, shown = kernel.run('shownOnce := Display("one")')
    name = [m for m in shown if m["msg_type"] == "display_data"][0]["content"]["transient"]["display_id"]
    _, shown = kernel.run('shownOnce.Update("two")')
    update = [m for m in shown if m["msg_type"] == "update_display_data"][0]["content"]
    assert (update["transient"]["display_id"], update["data"]["text/plain"]) == (name, '"two"')


def test_ipc_restart_shutdown(place):
    kernel = Kernel(transport="ipc", ip=str(place / "ipc"))
    try:
        kernel.run("kept := 5")
        kernel.manager.restart_kernel()
        kernel.client.wait_for_ready(timeout=WAIT)
        assert kernel.run("kept")[0]["status"] == "error"
        assert kernel.value("1 + 1") == "2"
    finally:
        kernel.close()
    assert not kernel.manager.is_alive()
