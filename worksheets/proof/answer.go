package proof

import (
	"fmt"
	"math"

	"counterpoise/mechanics/quantity"
	"counterpoise/worksheets/question"
)

// statedUncertainty is the relative uncertainty with which proof states a number
// where the question asks for one: far below every tolerance.
const statedUncertainty = 1e-6

// typed writes a number as an answer to a question, with so many figures, and
// with an uncertainty where the question asks for one.
func typed(q *question.Question, v quantity.Quantity, figures int, u quantity.Unit) string {
	text := v.Format(figures, u)
	if q.Uncertainty != "asked" || v.Value == 0 {
		return text
	}
	return fmt.Sprintf("%s ± %s", text, quantity.New(math.Abs(v.Value)*statedUncertainty, u).Format(1, u))
}
