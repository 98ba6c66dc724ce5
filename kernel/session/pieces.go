package session

// A Piece is a part code[Start:End] of a cell that [Pieces] found.
type Piece struct {
	Kind       PieceKind
	Start, End int // bytes
}

// A PieceKind tells what a piece of a cell is to Go.
type PieceKind byte

// The kinds of piece. A statement may be cut into several (for i := 0; i < n;
// i++ {} gives three); a declaration is a func, type or const, while var runs in
// its turn as a statement does.
const (
	Statement   = PieceKind(statement)
	Import      = PieceKind(importing)
	Declaration = PieceKind(declaration)
	Package     = PieceKind(packaging)
)

// Pieces cuts a cell as this package reads it.
func Pieces(code string) []Piece {
	var list []Piece
	for _, p := range split(code) {
		list = append(list, Piece{PieceKind(p.kind), p.start, p.end})
	}
	return list
}
