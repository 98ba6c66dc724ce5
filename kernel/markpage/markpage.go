// Package markpage serves the page on which a human marks what the program
// cannot: one question across all students, keyboard first, each decision saved
// at once.
//
// It listens on the loopback interface only, under an address that holds a
// secret, and answers nothing else. What students wrote is escaped by
// html/template and stands under a content security policy that lets nothing
// but the page's own script run.
package markpage

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"errors"
	"html/template"
	"net"
	"net/http"
	"strings"
	"time"

	"counterpoise/worksheets/marking"
	"counterpoise/worksheets/page"
)

//go:embed page.html
var markup string

var view = template.Must(template.New("page").Funcs(template.FuncMap{"prose": page.Prose, "inc": func(i int) int { return i + 1 }}).Parse(markup))

// maxDecision bounds the body of one decision in bytes.
const maxDecision = 64 << 10

// A Server is the page of one board.
type Server struct {
	By string // initials that the page begins with; the marker may change them

	board    *marking.Board
	title    string
	secret   string
	listener net.Listener
}

// Listen opens the page of a board on a free loopback port.
func Listen(b *marking.Board, title string) (*Server, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	return &Server{board: b, title: title, secret: random(), listener: l}, nil
}

func random() string {
	b := make([]byte, 24)
	rand.Read(b) // never fails, by its documentation
	return base64.RawURLEncoding.EncodeToString(b)
}

// Address is what to open in a browser. It holds the secret.
func (s *Server) Address() string {
	return "http://" + s.listener.Addr().String() + "/" + s.secret + "/"
}

// Serve answers until the context ends.
func (s *Server) Serve(ctx context.Context) error {
	server := &http.Server{Handler: s, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 60 * time.Second, MaxHeaderBytes: 16 << 10}
	stop := context.AfterFunc(ctx, func() {
		last, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		defer cancel()
		server.Shutdown(last)
	})
	defer stop()
	if err := server.Serve(s.listener); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// ServeHTTP answers one request. A request that does not name this very
// address, or comes from another page, gets nothing.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Cache-Control", "no-store")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	rest, ok := s.path(r)
	if !ok {
		http.NotFound(w, r)
		return
	}
	switch {
	case rest == "" && r.Method == http.MethodGet:
		s.show(w, r.URL.Query().Get("question"))
	case rest == "decide" && r.Method == http.MethodPost:
		s.decide(w, r)
	default:
		http.NotFound(w, r)
	}
}

// path returns what follows the secret in the request's path.
func (s *Server) path(r *http.Request) (string, bool) {
	if r.Host != s.listener.Addr().String() { // another name for this address: a page elsewhere may have made it up
		return "", false
	}
	if from := r.Header.Get("Origin"); from != "" && from != "http://"+r.Host {
		return "", false
	}
	secret, rest, ok := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	return rest, ok && subtle.ConstantTimeCompare([]byte(secret), []byte(s.secret)) == 1
}

// A choice is a question in the page's list.
type choice struct {
	Name  string
	Open  int // answers without marks
	Shown bool
}

// show writes the page of one question: the one asked for, else the first with
// answers that are still open.
func (s *Server) show(w http.ResponseWriter, name string) {
	nonce := random()
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Security-Policy", "default-src 'none'; script-src 'nonce-"+nonce+"'; style-src 'nonce-"+nonce+"'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	questions := s.board.Questions()
	list := make([]choice, len(questions))
	at := -1
	for i, q := range questions {
		list[i].Name = q.Name
		for _, g := range q.Groups {
			if !g.Decided {
				list[i].Open++
			}
		}
		if name == q.Name || name == "" && at < 0 && list[i].Open > 0 {
			at = i
		}
	}
	page := struct {
		Title, Nonce, By string
		List             []choice
		Question         *marking.BoardQuestion
	}{Title: s.title, Nonce: nonce, By: s.By, List: list}
	if len(questions) > 0 {
		at = max(at, 0)
		list[at].Shown, page.Question = true, &questions[at]
	}
	if err := view.Execute(w, page); err != nil {
		return // the browser has gone
	}
}

func (s *Server) decide(w http.ResponseWriter, r *http.Request) {
	var d struct {
		Row     string  `json:"row"`
		Marks   float64 `json:"marks"`
		Comment string  `json:"comment"`
		By      string  `json:"by"`
		Why     string  `json:"why"`
	}
	dec := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxDecision))
	if err := dec.Decode(&d); err != nil {
		reply(w, http.StatusBadRequest, "this is no decision")
		return
	}
	err := s.board.Decide(marking.Decision{Row: d.Row, Marks: d.Marks, Comment: d.Comment, By: d.By, Why: d.Why, At: time.Now()})
	switch {
	case errors.Is(err, marking.ErrReason):
		reply(w, http.StatusConflict, err.Error())
	case err != nil:
		reply(w, http.StatusUnprocessableEntity, err.Error())
	default:
		reply(w, http.StatusOK, "saved")
	}
}

func reply(w http.ResponseWriter, status int, say string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(map[string]string{"say": say})
}
