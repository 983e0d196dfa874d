package site

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"strings"
)

// worthIt is the size from which compressing is worth its while: what fits into one packet is sent as it is.
const worthIt = 1400

// Compressed returns a body as it goes out to whoever asks, and sets the headers that say so: compressed if they take
// that, else as it is. A page of the ship's network goes over radio, where its size is most of its time.
func Compressed(w http.ResponseWriter, r *http.Request, body []byte) []byte {
	if len(body) < worthIt {
		return body
	}
	w.Header().Set("Vary", "Accept-Encoding")
	if !takesGzip(r) {
		return body
	}
	w.Header().Set("Content-Encoding", "gzip")
	return squeezed(body)
}

// takesGzip reports whether whoever asks takes a compressed answer.
func takesGzip(r *http.Request) bool {
	for _, part := range strings.Split(r.Header.Get("Accept-Encoding"), ",") {
		name, quality, _ := strings.Cut(strings.TrimSpace(part), ";")
		if strings.EqualFold(strings.TrimSpace(name), "gzip") && strings.TrimSpace(quality) != "q=0" {
			return true
		}
	}
	return false
}

// squeezed compresses, quickly rather than small.
func squeezed(body []byte) []byte {
	var b bytes.Buffer
	w, _ := gzip.NewWriterLevel(&b, gzip.BestSpeed) // the level is one that there is
	_, _ = w.Write(body)                            // a buffer takes everything
	_ = w.Close()
	return b.Bytes()
}
