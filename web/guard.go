package web

import (
	"crypto/subtle"
	"net/http"
	"strings"
	"time"
)

// mostBody bounds the body of a request: a text of a megabyte, written as JSON,
// may take twice that.
const mostBody = 2 << 20

// strange is for who has no key, or that of an earlier start.
const strange = "this key is not, or no longer, the workbench's: open the address that it printed when it started"

// guard lets through only what the page of this very server asks for.
//
// Host is checked against rebinding of names, Origin and Sec-Fetch-Site against
// other pages in the same browser, the key against other programs and users of
// this machine, and the header of a POST makes a browser ask before it sends one
// for somebody else.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.policies(w.Header())
		switch {
		case !s.hosts[r.Host]:
			dismiss(w, &refusal{http.StatusMisdirectedRequest, "the workbench answers only at the address that it printed"})
			return
		case !s.ours(r):
			dismiss(w, &refusal{http.StatusForbidden, "the workbench answers only its own page"})
			return
		case !s.known(r):
			dismiss(w, &refusal{http.StatusUnauthorized, strange})
			return
		case r.URL.Path == s.root(): // relative addresses of the page count from its folder
			http.Redirect(w, r, s.root()+"/", http.StatusSeeOther)
			return
		case r.Method != http.MethodGet && r.Method != http.MethodHead && r.Header.Get("X-Rollwright") != "1":
			fail(w, &refusal{http.StatusForbidden, "a request that changes something needs the header X-Rollwright: 1"})
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBody)
		http.StripPrefix(s.root(), next).ServeHTTP(w, r)
	})
}

// ours reports whether a request comes from a page of this server, or from no
// page at all.
func (s *Server) ours(r *http.Request) bool {
	if origin := r.Header.Get("Origin"); origin != "" {
		host, ok := strings.CutPrefix(origin, "http://")
		if !ok || host != r.Host {
			return false
		}
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
		return true
	}
	// A link elsewhere that leads here shows the page and gives nothing away.
	return r.Method == http.MethodGet && r.URL.Path == s.root()+"/" && r.Header.Get("Sec-Fetch-Mode") == "navigate"
}

// root is the folder of all addresses: the key itself. A cookie would be sent to
// every other server on this machine, whatever its port (RFC 6265, 8.5); what
// stands in the path goes to this one alone, with streams, pictures and downloads
// too, and Referrer-Policy keeps it from others.
func (s *Server) root() string { return "/" + s.token }

// known reports whether the path of a request begins with the key.
func (s *Server) known(r *http.Request) bool {
	key, _, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	return equal(key, s.token)
}

// strangersBody is how long the body of a stranger's request is waited for before
// its connection is closed.
const strangersBody = time.Second

// dismiss answers a stranger, and does not wait for the body of the request.
func dismiss(w http.ResponseWriter, why *refusal) {
	w.Header().Set("Connection", "close")
	// Where the deadline cannot be set, the answer alone has to do.
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(strangersBody))
	fail(w, why)
}

func equal(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

// policies are the headers of every answer.
func (s *Server) policies(h http.Header) {
	h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self' 'nonce-"+s.nonce+
		"'; img-src 'self' data: blob:; "+
		"font-src 'self'; connect-src 'self'; worker-src 'self'; media-src 'self' blob:; manifest-src 'self'; "+
		"base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Embedder-Policy", "require-corp")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
}
