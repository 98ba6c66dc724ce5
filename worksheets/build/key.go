package build

import "counterpoise/worksheets/source"

// Key makes the tutor's key file of a sheet without sealing anything: in
// milliseconds. If the error is not nil it is [source.Problems].
func Key(s *source.Sheet) (*KeyFile, error) {
	values, problems := valuesOf(s, nil)
	asked, more := compile(s, values)
	if problems = append(problems, more...); len(problems) > 0 {
		return nil, problems.Err()
	}
	return keyFile(s, asked), nil
}

// With returns a key file of the same sheet that asks other questions.
func (k *KeyFile) With(questions []KeyQuestion) *KeyFile {
	other := *k
	other.Questions, other.kept = questions, &kept{}
	return &other
}
