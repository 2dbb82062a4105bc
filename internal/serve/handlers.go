package serve

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/segment"
)

//go:embed page.html page.css page.js
var pageFiles embed.FS

// maxForm is how many bytes the form of a case may have.
const maxForm = 1 << 20

// routes are all addresses of the server. No path of a file is ever taken from one.
func (s *Server) routes(o Options) http.Handler {
	m := http.NewServeMux()
	m.HandleFunc("GET /{$}", s.page)
	for _, name := range []string{"page.css", "page.js"} {
		m.HandleFunc("GET /"+name, func(w http.ResponseWriter, r *http.Request) { http.ServeFileFS(w, r, pageFiles, name) })
	}
	m.HandleFunc("GET /casts.js", viewScript)
	m.HandleFunc("GET /casts", s.casts)
	m.HandleFunc("GET /events", s.events)
	m.HandleFunc("GET /report.html", s.report)
	for path := range trialPages {
		m.HandleFunc("GET "+path, s.trialPage)
	}
	m.HandleFunc("GET /case.zip", s.saveCase)
	m.HandleFunc("GET /case.json", s.listCase)
	m.HandleFunc("GET /case/{rev}/{number}", s.sendFile)
	m.HandleFunc("POST /scans", func(w http.ResponseWriter, r *http.Request) { s.upload(w, r, o.MaxUpload) })
	m.HandleFunc("POST /case", s.change)
	m.HandleFunc("POST /end", s.stopServing)
	return m
}

// back leads the browser to the page, which shows what came of a form.
func back(w http.ResponseWriter, r *http.Request, where string) {
	http.Redirect(w, r, "/"+where, http.StatusSeeOther)
}

// report is the report of the examination, in a sandbox.
func (s *Server) report(w http.ResponseWriter, r *http.Request) {
	s.session.mu.Lock()
	done := s.session.done
	s.session.mu.Unlock()
	if !done {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Security-Policy", reportPolicy)
	http.ServeFile(w, r, filepath.Join(s.files.dir, resultsName, "report.html"))
}

// events tells a page how far the server is, until the page goes.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	defer s.session.watch()()
	for {
		s.session.mu.Lock()
		changed := s.session.changed
		state := struct {
			Rev   int    `json:"rev"`
			Text  string `json:"text"`
			Done  int    `json:"done"`
			Total int    `json:"total"`
			// Sights grows with what is seen of the teeth while they are being found.
			Sights int `json:"sights,omitempty"`
			// At is where the lower cast stands, once the casts are mounted.
			At *[16]float64 `json:"at,omitempty"`
		}{Rev: s.session.rev}
		if j := s.session.job; j != nil {
			state.Text, state.Done, state.Total = s.say(j.text), j.done, j.total
			state.Sights = j.sights
			if x, _ := s.session.inView(); x[0] != nil && x[1] != nil {
				state.Sights++ // what is known already is shown at once
			}
			if j.at != nil {
				at := j.at.Matrix()
				state.At = &at
			}
		}
		s.session.mu.Unlock()
		text, err := json.Marshal(state)
		if err != nil {
			return
		}
		if _, err := fmt.Fprintf(w, "data: %s\n\n", text); err != nil || out.Flush() != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-changed:
		}
	}
}

// say writes a sentence in the language of the pages.
func (s *Server) say(x language.Sentence) string {
	return s.session.o.Language.Write(x, s.session.c.Notation)
}

// stopServing ends the program.
func (s *Server) stopServing(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = fmt.Fprintf(w, `<!DOCTYPE html><html lang="%s"><title>cusptrace</title>`+
		`<link rel="stylesheet" href="/page.css"><main><p>%s</p></main>`,
		s.session.o.Language.Code(), s.say(language.Say("serve.ended")))
	s.endOnce.Do(func() { close(s.end) })
}

// upload takes scans, or a saved case, and looks at them once there are enough.
func (s *Server) upload(w http.ResponseWriter, r *http.Request, most int64) {
	r.Body = http.MaxBytesReader(w, r.Body, most)
	parts, err := r.MultipartReader()
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	s.uploading.Lock() // one at a time
	defer s.uploading.Unlock()
	came, err := s.receive(w, parts)
	x := s.session
	x.mu.Lock()
	defer x.mu.Unlock()
	stale := x.stage() != askScans || came.rev != strconv.Itoa(x.rev)
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		err = errors.New(s.say(language.Say("serve.large", language.With{"mb": int(most >> 20)})))
	} else if err == nil && !stale {
		x.rev++
		x.problem = ""
		err = s.take(came)
	}
	if err != nil || stale {
		for _, c := range came.scans {
			_ = os.Remove(s.files.path(c.file)) // the folder goes in the end
		}
	}
	for _, file := range came.folder { // what belongs to the case was taken over
		_ = os.Remove(s.files.path(file))
	}
	if err != nil {
		x.rev++
		x.problem = x.words(err)
		x.tell()
	}
	switch {
	case large != nil:
		http.Error(w, x.problem, http.StatusRequestEntityTooLarge)
	case stale && err == nil:
		back(w, r, "?stale")
	default:
		back(w, r, "")
	}
}

// arrived is what came with a form, under names of the server's own.
type arrived struct {
	rev    string
	scans  []*scan
	folder map[string]string // of a case in a folder, by the names within it
}

// receive stores the files of a form under names of the server's own.
func (s *Server) receive(w http.ResponseWriter, parts *multipart.Reader) (came arrived, err error) {
	patience := http.NewResponseController(w)
	came.folder = map[string]string{}
	for {
		p, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return came, nil
		} else if err != nil {
			return came, err
		}
		name := p.FileName()
		switch {
		case p.FormName() == "rev":
			b, err := io.ReadAll(io.LimitReader(p, 32))
			if err != nil {
				return came, err
			}
			came.rev = string(b)
			continue
		case name == "":
			continue
		case p.FormName() == "folder" && len(came.folder) == maxEntries:
			return came, s.session.sentence("serve.zip.many", language.With{"most": maxEntries})
		case p.FormName() != "folder" && len(came.scans) == 2:
			return came, s.session.sentence("serve.many", nil)
		}
		s.uploads++
		file := fmt.Sprintf("upload-%d%s", s.uploads, extension(name))
		if p.FormName() == "folder" {
			came.folder[nameWithin(p)] = file
		} else {
			came.scans = append(came.scans, &scan{file: file, name: plainName(name)})
		}
		if err := s.files.store(file, &patient{p, patience}); err != nil {
			return came, err
		}
	}
}

// nameWithin is the name of a file with the folders in which it lies, as it was sent.
func nameWithin(p *multipart.Part) string {
	_, with, err := mime.ParseMediaType(p.Header.Get("Content-Disposition"))
	if err != nil {
		return p.FileName()
	}
	return with["filename"]
}

// patient reads what comes within a minute each time.
type patient struct {
	io.Reader
	c *http.ResponseController
}

func (p *patient) Read(b []byte) (int, error) {
	if err := p.c.SetReadDeadline(time.Now().Add(time.Minute)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return 0, err
	}
	return p.Reader.Read(b)
}

// plainName is a name as text of one line, without a path.
func plainName(s string) string {
	if i := strings.LastIndexAny(s, `/\`); i >= 0 {
		s = s[i+1:]
	}
	s = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, s)
	if r := []rune(s); len(r) > 80 {
		s = string(r[:80]) + "…"
	}
	return s
}

// take begins with what came: a saved case, or scans beside those that are there. The caller holds
// the session.
func (s *Server) take(came arrived) error {
	x := s.session
	if len(came.folder) > 0 {
		in := parcel{}
		for name, file := range came.folder {
			in[name] = func() (io.ReadCloser, error) { return os.Open(s.files.path(file)) }
		}
		if err := x.openCase(in); err != nil {
			return err
		}
		x.look()
		return nil
	}
	for _, c := range came.scans {
		zipped, err := isZip(s.files.path(c.file))
		if err != nil {
			return err
		}
		if !zipped {
			continue
		}
		if len(came.scans) > 1 {
			return x.sentence("serve.many", nil)
		}
		if err := x.openZip(s.files.path(c.file)); err != nil {
			return fmt.Errorf("%s: %w", c.name, err)
		}
		x.look()
		return os.Remove(s.files.path(c.file))
	}
	if len(x.scans)+len(came.scans) > 2 {
		return x.sentence("serve.many", nil)
	}
	x.scans = append(x.scans, came.scans...)
	if len(x.scans) == 2 {
		x.look()
	}
	return nil
}

// change does what a button of the form says, after it has taken over what the form holds.
func (s *Server) change(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if err := r.ParseForm(); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	x := s.session
	x.mu.Lock()
	defer x.mu.Unlock()
	do, what, _ := strings.Cut(r.PostForm.Get("do"), " ")
	if do == "stop" {
		if x.job != nil {
			x.job.cancel()
		}
		back(w, r, "")
		return
	}
	if x.job != nil || r.PostForm.Get("rev") != strconv.Itoa(x.rev) {
		back(w, r, "?stale")
		return
	}
	x.rev++
	defer x.tell()
	x.problem = ""
	if err := s.act(x, do, what, r); err != nil {
		x.problem = x.words(err)
	}
	where := ""
	switch do {
	case "tooth":
		where = "#mouth"
	case "try", "wax":
		where = "#trial"
	}
	back(w, r, where)
}

// act does one thing; the session is held.
func (s *Server) act(x *session, do, what string, r *http.Request) error {
	switch stage := x.stage(); {
	case do == "new":
		x.forget()
		return s.files.clear()
	case do == "unit" && stage == askUnit:
		u, err := mesh.ParseUnit(r.PostForm.Get("unit"))
		if err != nil {
			return err
		}
		x.unit = u
		x.look()
		return nil
	case do == "jaws" && stage == askJaws:
		if r.PostForm.Get("upper") == "1" {
			x.scans[0], x.scans[1] = x.scans[1], x.scans[0]
		}
		x.told = true
		x.look()
		return nil
	case do == "change" && stage == reported:
		x.done = false
		return nil
	case do == "try" && stage == reported:
		return x.try(r.PostForm)
	case do == "wax" && stage == reported:
		return x.addWax(r.PostForm)
	case stage != theCase:
		return nil
	}
	if err := x.enter(r); err != nil {
		return err
	}
	jaw, code, _ := strings.Cut(what, " ")
	switch do {
	case "examine":
		x.examine()
	case "exchange":
		for _, a := range x.scans {
			a.corrections = nil
		}
		x.undo = nil
		x.scans[0], x.scans[1] = x.scans[1], x.scans[0]
		x.look()
	case "tooth":
		t, err := dentition.ParseTooth(what)
		if err != nil {
			return err
		}
		x.click(t)
	case "renumber", "remove":
		return x.point(jaw, do, code, r.PostForm.Get("number-"+code))
	case "correct":
		return x.say(jaw, code)
	case "undo":
		x.takeBack()
	case "anew":
		x.anew(jaw)
	case "together":
		x.putTogether()
	case "apart":
		x.takeApart()
	}
	return nil
}

// point corrects the number of a tooth, or says that it is none, by pointing at it.
func (x *session) point(jaw, do, code, number string) error {
	t, err := dentition.ParseTooth(code)
	if err != nil {
		return err
	}
	for _, a := range x.scans {
		at := slices.IndexFunc(a.teeth, func(y tooth) bool { return y.id == t })
		if at < 0 {
			continue
		}
		c := segment.Correction{Point: a.teeth[at].at}
		if do == "renumber" {
			if c.Tooth, err = dentition.ParseTooth(number); err != nil {
				return err
			}
		}
		return x.say(jaw, c.String())
	}
	return nil
}

// say adds a correction of the teeth of a jaw, in the form in which the command takes it.
func (x *session) say(jaw, correction string) error {
	i := slices.IndexFunc(jaws[:], func(j dentition.Jaw) bool { return j.String() == jaw })
	if i < 0 || x.scans[i].given {
		return nil
	}
	if err := new(segment.Options).Say(correction); err != nil {
		return err
	}
	x.correct(i, append(slices.Clone(x.scans[i].corrections), correction), append(slices.Clone(x.undo), i))
	return nil
}

// anew finds the teeth of a scan from its shape, whose labels came with the case.
func (x *session) anew(jaw string) {
	i := slices.IndexFunc(jaws[:], func(j dentition.Jaw) bool { return j.String() == jaw })
	if i >= 0 && x.scans[i].given {
		x.correct(i, nil, x.undo)
	}
}

// takeBack takes the last correction back.
func (x *session) takeBack() {
	if len(x.undo) == 0 {
		return
	}
	i := x.undo[len(x.undo)-1]
	list := x.scans[i].corrections
	x.correct(i, slices.Clone(list[:len(list)-1]), slices.Clone(x.undo[:len(x.undo)-1]))
}

// brushRestore and brushClear are what a click on the chart may enter beside what a foil did.
const (
	brushRestore = "restore"
	brushClear   = "clear"
)

// click enters on the chart what the person chose, for one tooth.
func (x *session) click(t dentition.ToothID) {
	x.last = t
	switch hold := casefile.Hold(x.brush); hold {
	case brushRestore:
		if i := slices.Index(x.c.Restore, t); i >= 0 {
			x.c.Restore = slices.Delete(slices.Clone(x.c.Restore), i, i+1)
		} else {
			x.c.Restore = append(slices.Clone(x.c.Restore), t)
			slices.Sort(x.c.Restore)
		}
	case brushClear:
		if x.c.Record != nil {
			delete(x.c.Record.Foil, t)
		}
	default:
		if x.c.Record == nil {
			x.c.Record = &casefile.Record{FoilUm: defaultFoil}
		}
		if x.c.Record.Foil == nil {
			x.c.Record.Foil = map[dentition.ToothID]casefile.Hold{}
		}
		x.c.Record.Foil[t] = hold
	}
}

// defaultFoil is the foil of a record in which none is named, µm.
const defaultFoil = 8

// enter takes over the fields of the form.
func (x *session) enter(r *http.Request) error {
	switch b := r.PostForm.Get("brush"); b {
	case string(casefile.Holds), string(casefile.LightDrag), string(casefile.Passes), brushRestore, brushClear:
		x.brush = b
	}
	c := *x.c
	c.Name = strings.TrimSpace(r.PostForm.Get("name"))
	c.Date = casefile.Date(strings.TrimSpace(r.PostForm.Get("date")))
	record := casefile.Record{FoilUm: defaultFoil}
	if c.Record != nil {
		record = *c.Record
	}
	if f := strings.TrimSpace(r.PostForm.Get("foil")); f != "" {
		um, err := strconv.ParseFloat(strings.Replace(f, ",", ".", 1), 64)
		if err != nil {
			return errors.New(x.o.Language.Write(language.Say("serve.foil.wrong", language.With{"found": f}), c.Notation))
		}
		record.FoilUm = um
	}
	for _, m := range movements(&record) {
		list, err := parseMarks(r.PostForm.Get("marks-" + m.name))
		if err != nil {
			return err
		}
		if list != nil || len(*m.marks) > 0 {
			*m.marks = list
		}
	}
	if err := x.enterMounting(&c, r.PostForm); err != nil {
		return err
	}
	if err := x.enterPairs(r.PostForm); err != nil {
		return err
	}
	c.Record = nil
	if len(record.Foil) > 0 || record.Notes != "" || slices.ContainsFunc(movements(&record), func(m marks) bool { return *m.marks != nil }) {
		c.Record = &record
	}
	check := c // scans are not part of the form
	check.Upper.Scan, check.Lower.Scan, check.Units = "upper", "lower", x.unit
	switch r := check.Mount.Recorded; {
	case r == nil:
	case *r == (casefile.Recorded{}):
		check.Mount = casefile.Default().Mount // it was only just chosen
	default: // it has an intercondylar distance of its own
		c.Settings.IntercondylarMM = r.Distance()
		check.Settings.IntercondylarMM = c.Settings.IntercondylarMM
	}
	if _, err := check.Check(); err != nil {
		return err
	}
	x.c = &c
	return nil
}

// marks is the marks of a movement in a record.
type marks struct {
	name  string
	marks *[]casefile.Mark
}

func movements(r *casefile.Record) []marks {
	return []marks{{"centric", &r.Marks.Centric}, {"right", &r.Marks.Right}, {"left", &r.Marks.Left}, {"protrusive", &r.Marks.Protrusive}}
}

// parseMarks reads marks with spaces or commas between.
func parseMarks(s string) (out []casefile.Mark, err error) {
	for _, f := range strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ';' || unicode.IsSpace(r) }) {
		m, err := casefile.ParseMark(f)
		if err != nil {
			return nil, err
		}
		out = append(out, m)
	}
	return out, nil
}

// saves reports whether there is a case to save. The caller holds the session.
func (s *session) saves() bool {
	st := s.stage()
	return st == theCase || st == reported
}

// listCase lists the files of the case, for a page that writes them into a folder.
func (s *Server) listCase(w http.ResponseWriter, r *http.Request) {
	x := s.session
	x.mu.Lock()
	defer x.mu.Unlock()
	if !x.saves() {
		http.NotFound(w, r)
		return
	}
	list, err := x.contents()
	out := struct {
		Rev   int      `json:"rev"`
		Names []string `json:"names"`
	}{Rev: x.rev}
	for _, c := range list {
		out.Names = append(out.Names, c.name)
	}
	text, wrong := json.Marshal(out)
	if err := errors.Join(err, wrong); err != nil {
		http.Error(w, x.words(err), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(text)
}

// sendFile sends a file of that list by its number, as long as the case is the same.
func (s *Server) sendFile(w http.ResponseWriter, r *http.Request) {
	from, err := s.session.fileOf(r.PathValue("rev"), r.PathValue("number"))
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	_, _ = io.Copy(w, from) // the page sees where it breaks off
	_ = from.Close()
}

// fileOf opens a file of the case by its number.
func (s *session) fileOf(rev, number string) (io.ReadCloser, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	n, err := strconv.Atoi(number)
	if err != nil || !s.saves() || rev != strconv.Itoa(s.rev) {
		return nil, os.ErrNotExist
	}
	list, err := s.contents()
	if err != nil {
		return nil, err
	}
	if n < 0 || n >= len(list) {
		return nil, os.ErrNotExist
	}
	return list[n].open()
}

// saveCase sends the case with its scans, and with the results where they are of the case.
func (s *Server) saveCase(w http.ResponseWriter, r *http.Request) {
	s.session.mu.Lock()
	defer s.session.mu.Unlock()
	if !s.session.saves() {
		http.NotFound(w, r)
		return
	}
	var b bytes.Buffer
	if err := s.session.writeZip(&b); err != nil {
		s.session.problem = s.session.words(err)
		back(w, r, "")
		return
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="case.zip"`)
	_, _ = w.Write(b.Bytes())
}
