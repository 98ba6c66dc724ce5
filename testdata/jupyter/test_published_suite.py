"""The published test suite for kernels, with cells in Go."""
import jupyter_kernel_test


class TestSuite(jupyter_kernel_test.KernelTests):
    kernel_name = "counterpoise"
    language_name = "go"
    file_extension = ".go"
    code_hello_world = 'import "fmt"\nfmt.Println("hello, world")'
    code_stderr = 'import (\n\t"fmt"\n\t"os"\n)\nfmt.Fprintln(os.Stderr, "low tide")'
    completion_samples = [
        {"text": "strings.EqualF", "matches": {"EqualFold"}},
        {"text": "tru", "matches": {"true"}},
    ]
    complete_code_samples = ["7", "lanterns := 12", "func swing(a int) int {\n\treturn -a\n}", "for range 2 {\n}"]
    incomplete_code_samples = ["func swing(a int) int {", "lanterns := []int{", "if true {", "2 +"]
    invalid_code_samples = ["func 2(", "lanterns := ]"]
    code_generate_error = "panic(\"the pin slipped\")"
    code_execute_result = [
        {"code": "6 * 7", "result": "42"},
        {"code": '"reed" + "s"', "result": '"reeds"'},
        {"code": "[]int{1, 2}", "result": "[]int{1, 2}"},
    ]
    code_display_data = [
        {"code": 'Display(HTML("<i>heron</i>"))', "mime": "text/html"},
        {"code": 'Display(Markdown("*heron*"))', "mime": "text/markdown"},
        {"code": 'Display(LaTeX("m g h"))', "mime": "text/latex"},
    ]
    code_history_pattern = "6 ?*7"
    supported_history_operations = ("tail", "range", "search")
    code_inspect_sample = "strings.ToUpper"
    code_clear_output = "ClearOutput(false)"
