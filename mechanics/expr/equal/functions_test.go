package equal

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"counterpoise/mechanics/expr"
)

// Values of the elementary functions at float64 arguments to 60 digits.
// Computed with mpmath 1.2.1 at 70 digits.
var printed = []struct {
	function string
	x        float64
	value    string
}{
	{"sin", 0.5, "0.479425538604203000273287935215571388081803367940600675188617"},
	{"sin", 1e-30, "1.00000000000000008333642060758598535093133602686865450236451e-30"},
	{"sin", -3.25, "0.108195134530108377035830842560825001018906939202310384586675"},
	{"sin", 1000000.125, "-0.2304734146515403468117399495408940937059969957560854589729"},
	{"sin", 12345678901234567, "-0.625700536958618608712124968150200221635532777352413756243604"},
	{"sin", 1.5707963267948966, "0.999999999999999999999999999999998125300271672678006691905443"},
	{"cos", 0.5, "0.877582561890372716116281582603829651991645197109744052997611"},
	{"cos", -3.25, "-0.994129676080546219373029225171599512067536820190109532346168"},
	{"cos", 1000000.125, "0.973078622280265258627814720597657198201410530795147278776276"},
	{"cos", 1.5707963267948966, "0.0000000000000000612323399573676588613032966137500146464037779883628305209605"},
	{"tan", 0.5, "0.546302489843790513255179465780285383297551720179791246164091"},
	{"tan", 1.5703125, "2066.85518974660351451827880590879528711955738472507654317127"},
	{"tan", -100, "0.58721391515692907667780963564458789425876598687291954412664"},
	{"asin", 0.5, "0.523598775598298873077107230546583814032861566562517636829157"},
	{"asin", -0.99999999, "-1.57065490543818615445979512567143198171802524738495890289119"},
	{"asin", 1e-20, "9.9999999999999994515327145420957165172952036945405911377164e-21"},
	{"acos", 0.5, "1.04719755119659774615421446109316762806572313312503527365831"},
	{"acos", 0.99999999, "0.000141421356710464771526565968319460380559452302594007596278888"},
	{"acos", -0.75, "2.41885840577637762728426603063816952217195091295066555334819"},
	{"atan", 0.5, "0.463647609000806116214256231461214402028537054286120263810933"},
	{"atan", 1, "0.785398163397448309615660845819875721049292349843776455243736"},
	{"atan", -1000000, "-1.57079532679489661956465502497288477543191817587802910085255"},
	{"atan", 1e-25, "1.00000000000000003849486974919183908137198936159133496806279e-25"},
	{"atan", 3.75, "1.31019393504755563425643768917190531227332646150546342547869"},
	{"sinh", 0.5, "0.521095305493747361622425626411491559105928982611480527946094"},
	{"sinh", -40, "-117692633418509992.703949955374517400130258680981483235953708"},
	{"sinh", 1e-10, "0.000000000100000000000000003643386398216440824601437555217712832352291"},
	{"cosh", 0.5, "1.12762596520638078522622516140267201254784711809866748362899"},
	{"cosh", -40, "117692633418509992.703949955374517404378612936273072231282943"},
	{"tanh", 0.5, "0.462117157260009758502318483643672548730289280330113038552732"},
	{"tanh", 20, "0.999999999999999991503291489416822045438558191190987257130475"},
	{"exp", 1, "2.71828182845904523536028747135266249775724709369995957496697"},
	{"exp", -700.5, "5.98019611863979120641210733049510004798077289264143028991014e-305"},
	{"exp", 0.001, "1.00100050016670834168889326279830288872940455419575496519736"},
	{"exp", 123.456, "413294435277810613583395097461046025716622844945789269.493536"},
	{"log", 2, "0.69314718055994530941723212145817656807550013436025525412068"},
	{"log", 10, "2.30258509299404568401799145468436420760110148862877297603333"},
	{"log", 1.0000000001, "0.000000000100000008269037099081966940803576377861216541387715239746186"},
	{"log", 1e-300, "-690.775527898213705180338344570100502908613341583641344062547"},
	{"log", 123456789, "18.6314017661680180331939333479632042097136818410204019751851"},
}

// callOf compiles f(x).
func callOf(t *testing.T, name string) *program {
	t.Helper()
	f, ok := expr.FunctionNamed(name)
	if !ok {
		t.Fatalf("no function %s", name)
	}
	e, err := expr.Call(f, expr.Sym("x"))
	if err != nil {
		t.Fatal(err)
	}
	return compile(e)
}

func TestLongFunctions(t *testing.T) {
	for _, tt := range printed {
		p := callOf(t, tt.function)
		want, _, err := big.ParseFloat(tt.value, 10, 400, big.ToNearestEven)
		if err != nil {
			t.Fatal(err)
		}
		slack := magnitudeOf(want).times(newMagnitude(1e-59))
		for _, bits := range precisions {
			out := make([]ball, len(p.steps))
			p.evalBall([]float64{tt.x}, bench{p: bits}, out)
			got := out[p.outputs[0]]
			if got.s != fine {
				t.Errorf("%s(%v) with %d bits: state %v", tt.function, tt.x, bits, got.s)
				continue
			}
			off := magnitudeOf(new(big.Float).SetPrec(400).Sub(got.mid, want))
			if !off.less(got.rad.plus(slack)) {
				t.Errorf("%s(%v) with %d bits: %v ± %v, want %s", tt.function, tt.x, bits, got.mid.Text('g', 40), got.rad.float(), tt.value)
			}
			if size := magnitudeOf(want).plus(newMagnitude(1)).times(power2(24 - int(bits))); size.less(got.rad) {
				t.Errorf("%s(%v) with %d bits: the bound %v is wide", tt.function, tt.x, bits, got.rad.float())
			}
		}
		out := make([]approximation, len(p.steps))
		p.evalFloat([]float64{tt.x}, out)
		got := out[p.outputs[0]]
		w, _ := want.Float64()
		if got.s != fine || math.Abs(got.v-w) > got.e+math.Abs(w)*unit {
			t.Errorf("%s(%v): %v ± %v, want %s", tt.function, tt.x, got.v, got.e, tt.value)
		}
	}
}

// The bound of the float64 evaluation holds, measured in numbers of 128 bits,
// for arguments of all sizes.
func TestFloatFunctions(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	sizes := map[string][2]float64{ // logarithms of the size of the argument, base 10
		"sin": {-10, 8}, "cos": {-10, 8}, "tan": {-10, 6}, "asin": {-10, 0}, "acos": {-10, 0}, "atan": {-10, 10},
		"sinh": {-10, 2.5}, "cosh": {-10, 2.5}, "tanh": {-10, 2.5}, "exp": {-10, 2.5}, "log": {-100, 100},
	}
	for name, size := range sizes {
		p := callOf(t, name)
		floats, balls := make([]approximation, len(p.steps)), make([]ball, len(p.steps))
		worst := 0.0
		for range 1500 {
			x := math.Pow(10, size[0]+(size[1]-size[0])*random.Float64())
			if random.IntN(3) == 0 && size[1] == 0 {
				x = 1 - x*1e-3 // near the end of the domain
			}
			if random.IntN(2) == 0 && name != "log" {
				x = -x
			}
			p.evalFloat([]float64{x}, floats)
			p.evalBall([]float64{x}, bench{p: 128}, balls)
			got, want := floats[p.outputs[0]], balls[p.outputs[0]]
			if got.s != fine || want.s != fine {
				continue
			}
			off := magnitudeOf(new(big.Float).Sub(want.mid, new(big.Float).SetPrec(128).SetFloat64(got.v)))
			if newMagnitude(got.e).less(off) {
				t.Fatalf("%s(%v) = %v, off by %v, bound %v", name, x, got.v, off.float(), got.e)
			}
			if got.e > 0 {
				worst = max(worst, off.float()/got.e)
			}
		}
		t.Logf("%-5s uses %.2f of its bound", name, worst)
	}
}
