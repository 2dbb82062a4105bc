package serve

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// session is the case of a server and where the person is with it.
type session struct {
	ctx   context.Context // ends with the server
	files *folder
	o     Options

	mu      sync.Mutex
	rev     int           // grows with every change that a page shows
	changed chan struct{} // closed at the next change or progress
	job     *job          // nil where nothing is computed
	pages   int           // that watch
	left    time.Time     // when the last page or job went
	problem string        // why the last thing was not done
	scans   []*scan       // at most two; upper and lower in turn once told is set
	unit    mesh.Unit     // MillimetreUnknown until it is known
	told    bool          // which scan is which
	both    *dentition.Jaw
	c       *casefile.Case
	brush   string // what a click on the chart enters
	last    dentition.ToothID
	done    bool     // the results in the folder are those of the case
	offers  []offer  // what may be tried after the examination
	picked  []string // which of them are chosen
	tried   bool     // the trial in the folder is that of the case
	waxing  waxing   // what the fields for wax hold
	pin     pin
	average *casefile.Average   // as it was entered, while another mounting is chosen
	apartMM float64             // its intercondylar distance
	pairs   [][2]casefile.Point // at which loose arches meet, upper and lower, each in its own frame
	loose   *loose              // what the arches were before they were put together
	fit     []string            // how they fit
	undo    []int               // of which scan the corrections are, in the order in which they were made
}

// scan is one scan that came.
type scan struct {
	file        string // in the private folder
	name        string // what the person calls it: text, no path
	fits        mesh.Unit
	health      *health
	jaw         dentition.Jaw // that it looks like
	sure        float64
	teeth       []tooth
	doubts      []findings.ToothDoubt
	labels      string   // labels file in the private folder, empty where teeth are found from the shape
	given       bool     // labels came with the case
	again       []string // files of further scans in the private folder, that came with the case
	corrections []string // as the command takes them
	shown       *surface
	points      *[3]casefile.Point // of the average mounting, found on the teeth of the lower arch
}

// arch is the scan as the case names it.
func (x *scan) arch() casefile.Arch {
	return casefile.Arch{Scan: x.file, Labels: x.labels, Again: x.again}
}

// tooth is a tooth of a scan.
type tooth struct {
	id     dentition.ToothID
	sure   float64 // 1 where labels were given
	unsure bool
	at     r3.Vec // on its crown, in the frame of the scan, mm
}

// percent is how sure the tooth is.
func (t *tooth) percent() string { return fmt.Sprintf("%.0f %%", 100*t.sure) }

// job is what is being computed.
type job struct {
	cancel      context.CancelFunc
	text        language.Sentence
	done, total int
	mount       *kinematics.Pose // of the scans into the articulator, once they are mounted
	at          *kinematics.Pose // where the lower cast stands then, from there
	seen        [2]*sight        // of the teeth that are being found
	sights      int              // of them so far
}

// jobs are not told of to more than so many fine steps.
const progressSteps = 200

func newSession(ctx context.Context, files *folder, o Options) *session {
	return &session{ctx: ctx, files: files, o: o, changed: make(chan struct{}), c: casefile.Default(), brush: string(casefile.Holds)}
}

// tell wakes those who watch. The caller holds mu.
func (s *session) tell() {
	close(s.changed)
	s.changed = make(chan struct{})
}

// start begins a job unless one is running. What work returns is called with the session
// held once the work is done, to take over its results. The caller holds mu.
func (s *session) start(text language.Sentence, work func(ctx context.Context) (take func(), err error)) {
	if s.job != nil {
		return
	}
	ctx, cancel := context.WithCancel(s.ctx)
	s.job, s.problem = &job{cancel: cancel, text: text}, ""
	s.rev++
	s.tell()
	go func() {
		take, err := work(ctx)
		cancel()
		s.mu.Lock()
		defer s.mu.Unlock()
		s.job, s.left = nil, time.Now()
		s.rev++
		switch {
		case err == nil:
			take()
		case !errors.Is(err, context.Canceled):
			s.problem = s.words(err)
		}
		s.tell()
	}()
}

// show says how far the job is.
func (s *session) show(text language.Sentence, done, total int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.job == nil {
		return
	}
	news := total == 0 || done == total || s.job.total != total || done*progressSteps/total != s.job.done*progressSteps/total
	if s.job.done, s.job.total = done, total; !text.Empty() {
		s.job.text = text
	}
	if news {
		s.tell()
	}
}

// words is an error as the person reads it: files are called as the person calls them.
func (s *session) words(err error) string {
	text := err.Error()
	for _, x := range s.scans {
		text = strings.ReplaceAll(text, s.files.path(x.file), x.name)
	}
	return strings.ReplaceAll(text, s.files.dir+"/", "")
}

// forget empties the session for other scans. The caller holds mu.
func (s *session) forget() {
	s.undo, s.average, s.pairs, s.loose, s.fit = nil, nil, nil, nil, nil
	s.offers, s.picked, s.tried, s.waxing, s.pin = nil, nil, false, waxing{}, pin{}
	s.scans, s.unit, s.told, s.both, s.done = nil, mesh.UnitUnknown, false, nil, false
	s.c = casefile.Default()
}

// stage is what the page shows.
type stage string

const (
	askScans stage = "scans"
	working  stage = "working"
	askUnit  stage = "unit"
	askJaws  stage = "jaws"
	theCase  stage = "case"
	reported stage = "report"
)

// stage tells it from what is known. The caller holds mu.
func (s *session) stage() stage {
	switch {
	case s.job != nil:
		return working
	case len(s.scans) < 2:
		return askScans
	case s.unit == mesh.UnitUnknown:
		return askUnit
	case !s.told:
		return askJaws
	case s.done:
		return reported
	}
	return theCase
}

// watch counts a page that watches, until the function is called that it gives.
func (s *session) watch() (gone func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.pages++
	return func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.pages--
		s.left = time.Now()
	}
}

// idle is closed once no page has watched and nothing was computed for a while.
func (s *session) idle() <-chan struct{} {
	out := make(chan struct{})
	if s.o.Idle == 0 {
		return out
	}
	s.mu.Lock()
	s.left = time.Now()
	s.mu.Unlock()
	go func() {
		t := time.NewTicker(s.o.Idle / 10)
		defer t.Stop()
		for {
			select {
			case <-s.ctx.Done():
				return
			case <-t.C:
			}
			s.mu.Lock()
			over := s.pages == 0 && s.job == nil && time.Since(s.left) > s.o.Idle
			s.mu.Unlock()
			if over {
				close(out)
				return
			}
		}
	}()
	return out
}
