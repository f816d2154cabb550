package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/whole"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/report/page"
	"daytank/procedures/store"
)

// fileOf gives the name of a job's file, without what could lead out of its folder. One that
// is not the asset's own name ends with digits of the job, so that no two are the same.
func fileOf(sum record.Summary) string {
	name := inFileName(sum.Asset)
	if len(name) > longestFileName {
		name = name[:longestFileName]
	}
	name = fmt.Sprintf("%s-%d", strings.TrimLeft(name, "."), sum.Number)
	if !strings.HasPrefix(name, sum.Asset+"-") {
		id := sum.Job.String()
		name += "-" + id[len(id)-8:]
	}
	return name
}

// inFileName gives a text as a part of a file's name.
func inFileName(text string) string {
	return strings.Map(func(r rune) rune {
		if r < utf8.RuneSelf && (unicode.IsLetter(r) || unicode.IsDigit(r)) || r == '.' || r == '-' || r == '_' {
			return r
		}
		return '_'
	}, text)
}

// longestFileName is what is taken of an asset's name for that of a file, in bytes.
const longestFileName = 80

// stampOf reads the stamp of a report in a file, and what its tests came to.
func stampOf(file string) (stamp, result string, ok bool) {
	f, err := os.Open(file)
	if err != nil {
		return "", "", false
	}
	defer f.Close()
	return page.Stamp(f)
}

// shelfOfReports is a folder that the reports of all jobs are written into.
type shelfOfReports struct {
	press            press
	folder           string
	index            page.Index
	written, damaged int
}

// reportAll writes the reports of all jobs into a folder, and the index over them.
func (a *app) reportAll(ctx context.Context, folder string) error {
	kept, err := a.openStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	jobs, err := kept.Jobs(ctx, store.Query{})
	if err != nil {
		return err
	}
	p, err := a.press(kept)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return fail(Usage, err)
	}
	shelf := shelfOfReports{press: p, folder: folder, index: page.Index{Shop: p.settings.Shop}}
	for _, sum := range jobs {
		if err := context.Cause(ctx); err != nil {
			return err
		}
		if err := shelf.put(ctx, sum); err != nil {
			return err
		}
	}
	var text bytes.Buffer
	if err := shelf.index.Write(&text); err != nil {
		return err
	}
	file := filepath.Join(folder, "index.html")
	if err := whole.Replace(file, text.Bytes()); err != nil {
		return fail(Failed, err)
	}
	fmt.Fprintf(a.env.Stdout, "%s: %s, %s written\n", prompt.Plain(file), report.Counted(len(jobs), "job"), report.Counted(shelf.written, "report"))
	if shelf.damaged > 0 {
		return end(Unverified)
	}
	return nil
}

// put writes the report of a job, unless the one that is there says the same, and puts it
// into the index. One that does not verify has a row and no report.
func (s *shelfOfReports) put(ctx context.Context, sum record.Summary) error {
	env := s.press.app.env
	zone := env.Now().Location()
	file := fileOf(sum) + ".html"
	before, err := s.press.soFar(ctx, sum)
	if err != nil {
		return err
	}
	was, result, ok := stampOf(filepath.Join(s.folder, file))
	if !ok || was != s.press.stamp(sum, before) {
		r, err := s.press.report(ctx, sum, before)
		var damage *record.Damage
		if errors.As(err, &damage) {
			fmt.Fprintf(env.Stderr, "%s: %s does not verify: %v\n", program, prompt.Plain(report.Name(sum)), err)
			s.damaged++
			s.index.Rows = append(s.index.Rows, page.Row{ReviewRow: report.OfQueue(sum, "RECORD DAMAGED", zone)})
			return nil
		}
		if err != nil {
			return err
		}
		var text bytes.Buffer
		if err := r.Write(&text); err != nil {
			return err
		}
		if err := whole.Replace(filepath.Join(s.folder, file), text.Bytes()); err != nil {
			return fail(Failed, err)
		}
		result = r.Review.Result
		s.written++
	}
	s.index.Rows = append(s.index.Rows, page.Row{ReviewRow: report.OfQueue(sum, result, zone), File: file, Head: sum.Head.String()})
	return nil
}
