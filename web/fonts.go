package web

import (
	"net/http"

	"rollwright/draw/typeface"
)

// fonts are the page's faces: the same as those of drawings and sheets.
var fonts = map[string]typeface.Face{
	"sans.woff": typeface.Sans, "sans-bold.woff": typeface.SansBold, "serif.woff": typeface.Serif,
	"serif-italic.woff": typeface.SerifItalic,
}

// font sends a face. It is the same for as long as the program is.
func (s *Server) font(w http.ResponseWriter, r *http.Request) {
	face, ok := fonts[r.PathValue("name")]
	if !ok {
		fail(w, &refusal{http.StatusNotFound, "there is no font at " + r.URL.Path})
		return
	}
	w.Header().Set("Content-Type", contentTypes[".woff"])
	w.Header().Set("Cache-Control", "max-age=3600")
	w.Write(face.WOFF())
}
