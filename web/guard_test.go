package web

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestGuard sends what other pages, programs and machines could send. Rules of
// Host, Origin and cookies: RFC 9110 7.2, RFC 6454 7, RFC 6265bis; Sec-Fetch-Site:
// W3C Fetch Metadata.
func TestGuard(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": small})
	port := b.base[strings.LastIndex(b.base, ":"):]
	cookie := b.server.cookie + "=" + b.server.token
	post := func(r *http.Request) { r.Header.Set("X-Rollwright", "1") }
	cases := []struct {
		name, method, path, host string
		header                   map[string]string
		also                     func(*http.Request)
		want                     int
	}{
		{name: "the page", path: "/", header: m1("Cookie", cookie), want: 200},
		{name: "by name", path: "/", host: "localhost" + port, header: m1("Cookie", cookie), want: 200},
		{name: "no cookie", path: "/", want: 401},
		{name: "no cookie", path: "/api/files", want: 401},
		{name: "wrong cookie", path: "/api/files", header: m1("Cookie", b.server.cookie+"=00"), want: 401},
		{name: "key of another", path: "/?key=00", want: 401},
		{name: "key for anything but the page", path: "/api/files?key=" + b.server.token, want: 401},
		{name: "a rebound name", path: "/api/files", host: "evil.example" + port, header: m1("Cookie", cookie), want: 421},
		{name: "another port", path: "/api/files", host: "127.0.0.1:1", header: m1("Cookie", cookie), want: 421},
		{name: "no port", path: "/api/files", host: "127.0.0.1", header: m1("Cookie", cookie), want: 421},
		{name: "own origin", path: "/api/files", header: map[string]string{"Cookie": cookie, "Origin": b.base}, want: 200},
		{name: "another origin", path: "/api/files", header: map[string]string{"Cookie": cookie, "Origin": "http://evil.example"}, want: 403},
		{name: "an origin that hides", path: "/api/files", header: map[string]string{"Cookie": cookie, "Origin": "null"}, want: 403},
		{name: "own host as another scheme", path: "/api/files", header: map[string]string{"Cookie": cookie, "Origin": "https" + b.base[4:]}, want: 403},
		{name: "own host by its other name", path: "/api/files", header: map[string]string{"Cookie": cookie, "Origin": "http://localhost" + port}, want: 403},
		{name: "a picture elsewhere", path: "/api/files", header: map[string]string{"Cookie": cookie, "Sec-Fetch-Site": "cross-site"}, want: 403},
		{name: "a page of another port", path: "/api/files", header: map[string]string{"Cookie": cookie, "Sec-Fetch-Site": "same-site"}, want: 403},
		{name: "a link elsewhere", path: "/", header: map[string]string{"Cookie": cookie, "Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}, want: 200},
		{name: "post without header", method: "POST", path: "/api/file", header: m1("Cookie", cookie), want: 403},
		{name: "post", method: "POST", path: "/api/file", header: m1("Cookie", cookie), also: post, want: 200},
		{name: "get of what is posted", path: "/api/save", header: m1("Cookie", cookie), want: 404},
		{name: "another method", method: "PUT", path: "/api/save", header: m1("Cookie", cookie), also: post, want: 404},
		{name: "a method on the page", method: "POST", path: "/", header: m1("Cookie", cookie), also: post, want: 404},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			method := c.method
			if method == "" {
				method = "GET"
			}
			r, err := http.NewRequest(method, b.base+c.path, strings.NewReader(`{"name":"a.piece"}`))
			if err != nil {
				t.Fatal(err)
			}
			r.Host = c.host
			for k, v := range c.header {
				r.Header.Set(k, v)
			}
			if c.also != nil {
				c.also(r)
			}
			answer, err := http.DefaultTransport.RoundTrip(r)
			if err != nil {
				t.Fatal(err)
			}
			body, _ := io.ReadAll(answer.Body)
			answer.Body.Close()
			if answer.StatusCode != c.want {
				t.Errorf("%s %s: status %d, want %d: %s", method, c.path, answer.StatusCode, c.want, body)
			}
			if answer.Header.Get("Access-Control-Allow-Origin") != "" {
				t.Error("other origins are let in")
			}
			if csp := answer.Header.Get("Content-Security-Policy"); !strings.HasPrefix(csp, "default-src 'none'; script-src 'self';") || strings.Contains(csp, "unsafe") {
				t.Errorf("the policy is %q", csp)
			}
			if answer.StatusCode != 200 && strings.Contains(string(body), b.server.token) {
				t.Error("an error gives the key away")
			}
		})
	}
}

func m1(k, v string) map[string]string { return map[string]string{k: v} }

// TestCookie: what admits is out of reach of scripts and other sites.
func TestCookie(t *testing.T) {
	b := serve(t, nil)
	r, err := http.DefaultTransport.RoundTrip(must(http.NewRequest("GET", b.base+"/?key="+b.server.token, nil)))
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	c := r.Cookies()[0]
	if r.StatusCode != http.StatusSeeOther || r.Header.Get("Location") != "/" {
		t.Errorf("the key leads to %s %s", r.Status, r.Header.Get("Location"))
	}
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.Domain != "" || c.MaxAge != 0 || !c.Expires.IsZero() {
		t.Errorf("the cookie is %v", c)
	}
}

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

// TestNames asks for files outside the folder in every way of writing them.
func TestNames(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": small, "sub/b.piece": small})
	outside := filepath.Join(filepath.Dir(b.dir), "outside.piece")
	if err := os.WriteFile(outside, []byte("secret"), 0o644); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.Remove(outside) })
	os.Symlink(outside, filepath.Join(b.dir, "link.piece"))
	os.Symlink(filepath.Dir(b.dir), filepath.Join(b.dir, "up"))
	os.Mkdir(filepath.Join(b.dir, "folder.piece"), 0o755)
	bad := []string{
		"", ".piece", "a", "a.txt", "../outside.piece", "sub/../../outside.piece", "./a.piece", "sub//b.piece", "/etc/passwd", outside,
		`..\outside.piece`, `C:\a.piece`, "C:a.piece", "link.piece", "up/outside.piece", ".rollwright/x.piece", ".hidden.piece",
		"sub/.hidden.piece", "a.piece\x00", "a\n.piece", "a.piece/", "folder.piece", "a .piece/../a.piece", strings.Repeat("x", 300) + ".piece",
		" a.piece", "sub /b.piece", "nul\u0085.piece",
	}
	for _, name := range bad {
		for path, body := range map[string]m{
			"/api/file":     {"name": name},
			"/api/save":     {"name": name, "text": "x", "base": "", "tab": ""},
			"/api/history":  {"name": name},
			"/api/snapshot": {"name": name, "label": ""},
			"/api/restore":  {"name": name, "id": "x"},
			"/api/copy":     {"name": "a.piece", "to": "../" + name},
			"/api/rename":   {"name": name, "to": "new.piece"},
			"/api/diff":     {"name": name, "id": "disk", "text": ""},
		} {
			if name == "folder.piece" && (path == "/api/history" || path == "/api/rename") {
				continue // a folder may be renamed: it stays inside
			}
			if name == "up/outside.piece" && path == "/api/history" {
				continue // there is none
			}
			if name == "link.piece" && (path == "/api/history" || path == "/api/rename") {
				continue // the link itself stays inside
			}
			if status, data := b.send("POST", path, body); status < 400 || strings.Contains(string(data), "secret") {
				t.Errorf("%s of %q: %d %s", path, name, status, data)
			}
		}
		if name == "" || checkName(name) == nil {
			continue // the whole folder, or a name that only the disk can refuse
		}
		if status, _ := b.send("GET", "/api/watch?name="+url.QueryEscape(name), nil); status != http.StatusBadRequest {
			t.Errorf("watch of %q: %d", name, status)
		}
	}
	if text := must(os.ReadFile(outside)); string(text) != "secret" {
		t.Errorf("the file outside has become %q", text)
	}
	if got := ask[fileText](b, "/api/file", m{"name": "sub/b.piece"}); got.Text != small {
		t.Errorf("a piece one folder down is %q", got.Text)
	}
}

// TestInstrumentsStayInside: a piece from elsewhere cannot make the workbench read
// what lies outside its folder, nor can an instrument that it names.
func TestInstrumentsStayInside(t *testing.T) {
	b := serve(t, map[string]string{
		"own.instrument": "like = \"88-note\"\n",
		"led.instrument": "like = \"../secret.instrument\"\n",
	})
	outside := filepath.Join(filepath.Dir(b.dir), "secret.instrument")
	if err := os.WriteFile(outside, []byte("secret = 1\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.Remove(outside) })
	os.Symlink(outside, filepath.Join(b.dir, "link.instrument"))
	for name, ok := range map[string]bool{
		"88-note": true, "own.instrument": true, "led.instrument": false, "../secret.instrument": false,
		outside: false, "link.instrument": false, "/etc/passwd": false, "/dev/zero": false,
	} {
		u := b.work("x.piece", fmt.Sprintf("instrument = %q\n", name)+small[strings.Index(small, "voice"):])
		if u.OK != ok {
			t.Errorf("instrument %q: ok is %v, errors %v", name, u.OK, u.Errors)
		}
		for _, e := range u.Errors {
			if strings.Contains(e.Problem+e.Hint, "secret = 1") || strings.Contains(e.Problem, "root:") {
				t.Errorf("instrument %q gives a file away: %v", name, e)
			}
		}
	}
}

// TestSizes: more than the workbench takes is refused, not read.
func TestSizes(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": small})
	b.put("large.piece", strings.Repeat("#", mostText+1))
	huge := strings.Repeat("x", mostBody)
	for path, body := range map[string]m{
		"/api/work":   {"name": "a.piece", "text": huge},
		"/api/save":   {"name": "a.piece", "text": huge, "base": "", "tab": ""},
		"/api/set":    {"text": huge, "path": []string{}, "attr": "title", "value": "x"},
		"/api/remedy": {"name": "a.piece", "text": huge, "finding": ""},
		"/api/file":   {"name": "large.piece"},
	} {
		if status, data := b.send("POST", path, body); status != http.StatusRequestEntityTooLarge {
			t.Errorf("%s: %d %.80s", path, status, data)
		}
	}
	// A text of a megabyte that JSON makes larger still fits.
	text := strings.Repeat("# \"quoted\"\n", 90_000)
	if u := b.work("a.piece", text); len(u.Errors) == 0 {
		t.Error("a text of nothing but remarks is no piece")
	}
	for _, body := range []string{"", "{", "[]", `{"name":"a.piece"} {}`, `{"nome":"a.piece"}`, "null null", `{"name":1}`} {
		r := must(http.NewRequest("POST", b.base+"/api/file", strings.NewReader(body)))
		r.Header.Set("X-Rollwright", "1")
		answer := must(b.client.Do(r))
		answer.Body.Close()
		if answer.StatusCode != http.StatusBadRequest {
			t.Errorf("the body %q: %s", body, answer.Status)
		}
	}
}

// FuzzName: whatever name is taken leads to a place inside the folder.
func FuzzName(f *testing.F) {
	for _, name := range []string{"a.piece", "../a.piece", "a/b.piece", "a/../../b.piece", "//a.piece", "a\\b.piece", "CON.piece"} {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) {
		if checkName(name) != nil {
			return
		}
		full := filepath.Join("/folder", filepath.FromSlash(name))
		if !strings.HasPrefix(full, "/folder/") || strings.Contains(full, "/.") || filepath.Clean(name) != name {
			t.Errorf("%q leads to %s", name, full)
		}
	})
}
