package web

import "net/http"

// view is a part of the workbench beside a piece's own text and paper. It is a file of
// this package, one of the page (web/page/src/views), and a line in each of their tables.
type view struct {
	name   string
	routes func(*Server) map[string]http.HandlerFunc
}

// views are all of them.
var views = []view{
	{"others", othersRoutes},   // the files of the folder that are no pieces
	{"take", takeRoutes},       // a recording beside the paper
	{"light", lightRoutes},     // a picture of paper under the planned holes
	{"meet", meetRoutes},       // what makes two notes meet
	{"design", designRoutes},   // what is found in notes
	{"later", laterRoutes},     // the findings, after the roll
	{"grip", gripRoutes},       // what can be moved on the paper
	{"turn", turnRoutes},       // numbers that are tried
	{"deleted", deletedRoutes}, // pieces that only their history has
	{"lit", litRoutes},         // a hole and its item in the text
}
