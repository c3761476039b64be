package show

import (
	"bytes"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"html/template"
	"io"
	"regexp"
	"slices"
	"strings"

	"rollwright/draw/svg"
	"rollwright/draw/typeface"
	"rollwright/telling/figure"
)

//go:embed page
var pageFiles embed.FS

// scripts are the parts of the page's script, in their order: each uses only
// what stands before it.
var scripts = []string{"start.js", "sound.js", "transport.js", "paper.js", "counters.js", "apart.js", "stage.js", "speaker.js",
	"keys.js", "whatif.js", "run.js"}

var pageTemplate = template.Must(template.New("page.html").ParseFS(pageFiles, "page/page.html"))

// pageParts are what the template shows.
type pageParts struct {
	Lang, Title string
	Policy      string
	Style       template.CSS
	Script      template.JS
	Data        template.JS
	Bank        template.HTML // base64, which needs no escaping
	Engine      template.HTML // likewise; empty: what the piece would be is not asked
	EngineJS    template.JS
	WhatIf      int // number of its step
	Steps       []pageStep
	Besides     bool // there are steps besides
	Sheet       []sheetRow
	Summary     string
	Planned     string
	Keys        []string
	w           func(key string) string
}

// Say is a word of the page.
func (p *pageParts) Say(key string) string { return p.w(key) }

type pageStep struct {
	Number  int
	Kind    string
	Title   string
	Text    []string
	Figures []pageFigure
	Besides bool
}

type pageFigure struct {
	Kind string // "moving", or "notes" for one that is seen until the step sounds
	// for the panel beside the paper, then whole for the handout and the screen that shows nothing else
	Copies  []template.HTML
	Caption string
	plain   string // the figure alone, by which the same one is known again
	Again   bool   // a step before has the same: the handout does not print it once more
}

// sheetRow is a line of the speaker's sheet.
type sheetRow struct {
	Number        int
	Title         string
	Say           []string
	Length, Until string
}

// WritePage writes the lecture as one page that needs nothing else: no network,
// no other file. It takes a few seconds when the notes have not been computed
// before.
func (l *Lecture) WritePage(ctx context.Context, w io.Writer) error {
	asked, err := l.whatIf()
	if err != nil {
		return err
	}
	data, bank, err := l.data(ctx, asked)
	if err != nil {
		return err
	}
	text, err := json.Marshal(data)
	if err != nil {
		return fmt.Errorf("show: %w", err)
	}
	script, err := l.script()
	if err != nil {
		return err
	}
	style, err := style()
	if err != nil {
		return err
	}
	p := &pageParts{
		Lang: l.Book.Tag(), Title: l.Title, Style: template.CSS(style), Script: template.JS(script), Data: template.JS(text),
		Bank: template.HTML(base64.StdEncoding.EncodeToString(bank.FLAC)), Policy: policy(script),
		w: func(key string) string { return l.Book.Say(key, nil) },
	}
	if asked != nil {
		script, program, err := engine()
		if err != nil {
			return err
		}
		p.EngineJS, p.Engine, p.WhatIf = template.JS(script), template.HTML(program), asked.Step+1
		p.Policy = policy(script, string(p.Script)) + " 'wasm-unsafe-eval'"
	}
	if err := l.fill(p); err != nil {
		return err
	}
	return pageTemplate.Execute(w, p)
}

// policy forbids the page every address, its own scripts apart.
func policy(scripts ...string) string {
	text := "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; media-src blob: data:; base-uri 'none'; form-action 'none'; script-src"
	for _, script := range scripts {
		sum := sha256.Sum256([]byte(script))
		text += " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return text
}

// script is the page's script: one function, so that it leaves no names behind.
func (l *Lecture) script() (string, error) {
	var b strings.Builder
	b.WriteString("\"use strict\";\n(() => {\n")
	for _, name := range scripts {
		part, err := pageFiles.ReadFile("page/" + name)
		if err != nil {
			return "", fmt.Errorf("show: %w", err)
		}
		b.Write(part)
	}
	b.WriteString("})();\n")
	return b.String(), nil
}

// style is the page's style sheet with its faces inside.
func style() (string, error) {
	text, err := pageFiles.ReadFile("page/page.css")
	if err != nil {
		return "", fmt.Errorf("show: %w", err)
	}
	named := strings.NewReplacer("SERIF", "'"+typeface.Serif.Family()+"'", "SANS", "'"+typeface.Sans.Family()+"'")
	return typeface.Rules(append(typeface.All(), typeface.Music)...) + named.Replace(string(text)), nil
}

// fill sets what can be read without the script: every step, the speaker's
// sheet, the keys.
func (l *Lecture) fill(p *pageParts) error {
	t := &teller{l: l, book: l.Book}
	until, talk := 0.0, 0
	printed := map[string]bool{}
	for _, s := range l.Steps {
		step := pageStep{Number: s.Number, Kind: s.Kind.String(), Title: s.Title, Text: s.Text, Besides: s.Besides}
		p.Besides = p.Besides || s.Besides
		for kind, f := range map[string]*figure.Figure{"notes": s.Notation, "moving": s.Figure} {
			if f == nil {
				continue
			}
			shown, err := figureOf(s, f, kind)
			if err != nil {
				return err
			}
			step.Figures = append(step.Figures, shown)
		}
		slices.SortFunc(step.Figures, func(a, b pageFigure) int { return strings.Compare(b.Kind, a.Kind) })
		for i := range step.Figures {
			f := &step.Figures[i]
			f.Again = printed[f.plain]
			printed[f.plain] = true
		}
		p.Steps = append(p.Steps, step)
		row := sheetRow{Number: s.Number, Title: s.Title, Say: s.Say, Length: p.w("talk.nothing")}
		if !s.Besides {
			until += s.Seconds()
			row.Until = t.length(until)
			talk++
		}
		if s.Hear != Nothing {
			row.Length = t.length(s.Seconds())
		}
		p.Sheet = append(p.Sheet, row)
	}
	p.Summary = l.Book.Say("sheet.total", map[string]any{"steps": talk, "length": t.length(l.Seconds())})
	if l.Minutes > 0 {
		p.Planned = l.Book.Say("sheet.planned", map[string]any{"minutes": int(l.Minutes)})
	}
	keys := []string{"next", "skip", "back", "play", "again", "number", "blank", "full", "slow", "speaker",
		"figure", "mono", "dark", "menu", "touch"}
	if p.WhatIf > 0 {
		keys = slices.Insert(keys, slices.Index(keys, "figure"), "whatif")
	}
	for _, name := range keys {
		p.Keys = append(p.Keys, p.w("keys."+name))
	}
	return nil
}

// figureOf is a figure of a step: whole, and as it is seen beside the paper.
func figureOf(s *Step, f *figure.Figure, kind string) (pageFigure, error) {
	shown := pageFigure{Kind: kind, Caption: f.Caption}
	var panels []panel
	switch {
	case kind == "notes":
		panels = []panel{reading(s)}
	case s.Notation != nil || s.Hear == Nothing:
		panels = []panel{sounds(s)}
	default:
		panels = []panel{reading(s), sounds(s)}
	}
	classes := []string{"panel reading", "panel sounding"}
	if len(panels) == 1 {
		classes = []string{"panel"}
	}
	for i, p := range panels {
		markup, err := inline(p.fit(f), fmt.Sprintf("%s%d-%d", kind[:1], s.Number, i), classes[i])
		if err != nil {
			return shown, err
		}
		shown.Copies = append(shown.Copies, template.HTML(markup))
	}
	whole, err := inline(f, kind[:1]+itoa(s.Number), "whole")
	if err != nil {
		return shown, err
	}
	shown.Copies = append(shown.Copies, template.HTML(whole))
	shown.plain, err = inline(f, "", "")
	return shown, err
}

// names are the places where SVG names its parts or speaks of them.
var names = regexp.MustCompile(` id="|href="#|url\(#`)

// inline is a figure as markup for the middle of a page: without the head of a
// file, its names told apart from those of other figures, and described.
func inline(f *figure.Figure, name, class string) (string, error) {
	var b bytes.Buffer
	if err := svg.Encode(&b, f.Drawing, &svg.Options{Text: svg.Named}); err != nil {
		return "", err
	}
	_, body, ok := strings.Cut(b.String(), "viewBox=\"")
	if !ok {
		return "", fmt.Errorf("show: a drawing without a viewBox")
	}
	_, body, _ = strings.Cut(body, ">")
	part := inked(f.Drawing)
	box := fmt.Sprintf("%.3f %.3f %.3f %.3f", part.Min.X, part.Min.Y, part.W(), part.H())
	body = metadata.ReplaceAllString(body, "")
	body = names.ReplaceAllString(body, "${0}"+name+"-")
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" class="%s" role="img" aria-label="%s" viewBox="%s">%s`,
		class, html.EscapeString(f.Title+". "+f.Caption), box, body), nil
}

// metadata is what files have and pages need not.
var metadata = regexp.MustCompile(`(?s)<metadata>.*?</metadata>\n?|^\s*<title>[^<]*</title>\n?|<desc>[^<]*</desc>\n?| inkscape:[a-z]+="[^"]*"`)
