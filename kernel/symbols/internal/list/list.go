// Package list says which packages a cell may import.
package list

import "strings"

// Std lists the packages of the standard library that compute, format and
// coordinate. Left out is what reaches the network, other programs, the memory
// or the machine (net, os/exec, syscall, unsafe, plugin, debug …). The package
// os of cells is kernel/symbols/os.
var Std = strings.Fields(`
bufio bytes container/heap container/list container/ring context
crypto/md5 crypto/sha1 crypto/sha256 crypto/sha512
encoding encoding/base32 encoding/base64 encoding/binary encoding/csv encoding/hex encoding/json encoding/xml
errors fmt hash hash/crc32 hash/fnv hash/maphash html html/template
image image/color image/color/palette image/draw image/gif image/jpeg image/png
index/suffixarray io io/fs log log/slog math math/big math/bits math/cmplx math/rand math/rand/v2
path path/filepath reflect regexp runtime sort strconv strings sync sync/atomic
text/scanner text/tabwriter text/template time unicode unicode/utf16 unicode/utf8
`)

// Source lists the packages whose code is generic: they are kept as source.
var Source = strings.Fields(`cmp iter maps slices`)

// Gonum lists numerical packages and plotting.
var Gonum = strings.Fields(`
gonum.org/v1/gonum/blas gonum.org/v1/gonum/blas/blas64 gonum.org/v1/gonum/cmplxs
gonum.org/v1/gonum/diff/fd gonum.org/v1/gonum/dsp/fourier gonum.org/v1/gonum/dsp/window
gonum.org/v1/gonum/floats gonum.org/v1/gonum/floats/scalar
gonum.org/v1/gonum/integrate gonum.org/v1/gonum/integrate/quad gonum.org/v1/gonum/interp
gonum.org/v1/gonum/mat gonum.org/v1/gonum/mathext gonum.org/v1/gonum/num/dual gonum.org/v1/gonum/num/quat
gonum.org/v1/gonum/optimize gonum.org/v1/gonum/spatial/r2 gonum.org/v1/gonum/spatial/r3
gonum.org/v1/gonum/stat gonum.org/v1/gonum/stat/combin gonum.org/v1/gonum/stat/distuv
gonum.org/v1/gonum/unit gonum.org/v1/gonum/unit/constant
gonum.org/v1/plot gonum.org/v1/plot/font gonum.org/v1/plot/palette gonum.org/v1/plot/palette/moreland
gonum.org/v1/plot/plotter gonum.org/v1/plot/plotutil gonum.org/v1/plot/text gonum.org/v1/plot/vg
gonum.org/v1/plot/vg/draw gonum.org/v1/plot/vg/vgimg gonum.org/v1/plot/vg/vgsvg
`)

// Own lists this project's packages that cells may import, besides all of
// mechanics, and the package os of cells.
var Own = []string{"counterpoise/kernel/symbols/os", "counterpoise/kernel/display/cell", "counterpoise/worksheets/worksheet"}

// Allowed returns the group of a path, or "".
func Allowed(path string) string {
	for group, paths := range map[string][]string{"std": Std, "gonum": Gonum, "source": Source, "own": Own} {
		for _, p := range paths {
			if p == path {
				return group
			}
		}
	}
	if strings.HasPrefix(path, "counterpoise/mechanics/") {
		return "own"
	}
	return ""
}
