package server

import (
	"runtime"
	"strings"

	"counterpoise/kernel/wire"
)

func (s *Server) kernelInfo(r *request) error {
	version := strings.TrimPrefix(runtime.Version(), "go")
	s.reply(r, "kernel_info_reply", wire.KernelInfoReply{
		Status:                "ok",
		ProtocolVersion:       wire.ProtocolVersion,
		Implementation:        "counterpoise",
		ImplementationVersion: s.options.Version,
		LanguageInfo: wire.LanguageInfo{
			Name:              "go",
			Version:           version,
			MIMEType:          "text/x-go",
			FileExtension:     ".go",
			PygmentsLexer:     "go",
			CodeMirrorMode:    "go",
			NbconvertExporter: "script",
		},
		Banner: "Counterpoise " + s.options.Version + ": Go " + version + " and the mechanics of small moving toys",
		HelpLinks: []wire.HelpLink{
			{Text: "A tour of Go", URL: "https://go.dev/tour/"},
			{Text: "Go language", URL: "https://go.dev/ref/spec"},
			{Text: "Go standard packages", URL: "https://pkg.go.dev/std"},
			{Text: "Gonum", URL: "https://pkg.go.dev/gonum.org/v1/gonum"},
		},
		SupportedFeatures: []string{},
	})
	return nil
}

func (s *Server) interruptRequest(r *request) error {
	s.Interrupt() // first, so that what a client sends after the reply is not meant
	s.reply(r, "interrupt_reply", map[string]string{"status": "ok"})
	return nil
}

// Interrupt ends the cell that runs and aborts the cells that wait.
func (s *Server) Interrupt() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.abort = s.received
	if s.stop != nil {
		s.stop()
	}
}

func (s *Server) shutdown(r *request) error {
	var c struct {
		Restart bool `json:"restart"`
	}
	if err := decode(r, &c); err != nil {
		return err
	}
	content := map[string]any{"status": "ok", "restart": c.Restart}
	s.reply(r, "shutdown_reply", content)
	s.publish(r.Message, "shutdown_reply", content)
	r.last = true
	return nil
}
