package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/planner/strict"
	"daytank/procedures"
	"daytank/procedures/handbook"
	"daytank/procedures/report"
	"daytank/safety"
)

// shelf is one kind of thing in the library.
type shelf struct {
	kind string
	rows func(l *procedures.Library) ([]libraryRow, error)
}

// libraryRow is a row of `daytank library list`.
type libraryRow struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Own   bool   `json:"own,omitempty"`
}

// shelves are the kinds, in the order of help.
var shelves = []shelf{
	{"layouts", layoutRows},
	{"engines", engineRows},
	{"procedures", procedureRows},
	{"rules", ruleRows},
	{"hazards", hazardRows},
	{"formulas", formulaRows},
}

func shelfNames() []string {
	var names []string
	for _, s := range shelves {
		names = append(names, s.kind)
	}
	return names
}

// newLibraryCommand makes `daytank library`.
func newLibraryCommand(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "library",
		Short: "layouts, engines, procedures, rules, hazards, formulas",
		Long: `Shows what the program knows, shipped and your own. Your own files stand in the
folder of the setting library, in layouts, engines and procedures, each named
after the id in it.`,
		Example: `  daytank library list procedures
  daytank library show rail-pumped
  daytank library show hose-rating
  daytank library check van.yaml`,
	}
	cmd.AddCommand(a.libraryList(), a.libraryShow(), a.libraryCheck(), a.libraryNew())
	return cmd
}

func (a *app) libraryList() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:       "list " + strings.Join(shelfNames(), "|"),
		Short:     "list what there is of a kind",
		Args:      oneArgument("name one of " + strings.Join(shelfNames(), ", ")),
		ValidArgs: shelfNames(),
		RunE: func(_ *cobra.Command, args []string) error {
			i := slices.IndexFunc(shelves, func(s shelf) bool { return s.kind == args[0] })
			if i < 0 {
				return usage(fmt.Sprintf("no kind %q", args[0]), "kinds are "+strings.Join(shelfNames(), ", "))
			}
			library, err := a.books()
			if err != nil {
				return err
			}
			rows, err := shelves[i].rows(library)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(a.env.Stdout, rows)
			}
			table := tabwriter.NewWriter(a.env.Stdout, 0, 0, 2, ' ', 0)
			for _, r := range rows {
				own := ""
				if r.Own {
					own = "  (your own)"
				}
				fmt.Fprintf(table, "%s\t%s%s\n", r.ID, r.Title, own)
			}
			return table.Flush()
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

func (a *app) libraryShow() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "show ID",
		Short: "show one of them as a page; a procedure with whys and sources",
		Long: `Shows everything of this id: a layout and a procedure of the same id are both
shown. The page of a rule, hazard, layout or formula stands in the appendix of
a report as well.`,
		Args: oneArgument("name an id; daytank library list KIND shows them"),
		RunE: func(_ *cobra.Command, args []string) error {
			library, err := a.books()
			if err != nil {
				return err
			}
			show, err := a.printer()
			if err != nil {
				return err
			}
			pages, err := handbook.Of(args[0], library.Engines(), show)
			if err != nil {
				return err
			}
			if asJSON {
				return a.pagesAsJSON(args[0], pages)
			}
			for _, p := range pages {
				report.PageText(a.env.Stdout, p)
				fmt.Fprintln(a.env.Stdout)
			}
			engine := showEngine(a.env.Stdout, library, args[0])
			procedure := showProcedure(a.env.Stdout, library, args[0], show)
			if len(pages) == 0 && !engine && !procedure {
				return notInLibrary(args[0])
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON: the pages of rules, hazards, layouts and formulas")
	return cmd
}

func notInLibrary(id string) error {
	return usage(fmt.Sprintf("nothing in the library is called %q", id), "daytank library list KIND shows what there is")
}

// pagesAsJSON prints what has a page.
func (a *app) pagesAsJSON(id string, pages []handbook.Page) error {
	if len(pages) == 0 {
		return usage(fmt.Sprintf("no rule, hazard, layout or formula is called %q", id), "daytank library list KIND shows what there is")
	}
	return writeJSON(a.env.Stdout, pages)
}

func (a *app) libraryCheck() *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE",
		Short: "read a file of yours strictly and report every problem",
		Long: `Reads a job, layout, engine profile or procedure strictly, and reports every
problem with its place. A procedure is held against what safety demands.`,
		Args: oneArgument("name a file"),
		RunE: func(_ *cobra.Command, args []string) error {
			library, err := a.books()
			if err != nil {
				return err
			}
			text, err := readFile(args[0])
			if err != nil {
				return err
			}
			kind, err := checkFile(library, args[0], text)
			if err != nil {
				return err
			}
			fmt.Fprintf(a.env.Stdout, "%s: a sound %s\n", args[0], kind)
			return nil
		},
	}
}

// checkFile reads a file as what its first key says it is.
func checkFile(library *procedures.Library, file string, text []byte) (string, error) {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return "", err
	}
	keys := doc.Root().Map().Keys()
	switch {
	case slices.Contains(keys, "job"):
		_, err = planner.ReadJob(file, text, library.Engines(), planner.Date{Year: 2000, Month: 1, Day: 1})
		return "job file", err
	case slices.Contains(keys, "procedure"):
		return "procedure", library.Add(file, text)
	case slices.Contains(keys, "layout"):
		return "layout", library.Engines().AddLayout(file, text)
	case slices.Contains(keys, "profile"):
		return "engine profile", library.Engines().AddProfile(file, text)
	}
	return "", strict.Problems{{File: file, Message: "this is no file of ours: it begins with job: 1, procedure: 1, layout: 1 or profile: 1"}}
}

func layoutRows(l *procedures.Library) ([]libraryRow, error) {
	var rows []libraryRow
	for _, x := range l.Engines().Layouts() {
		rows = append(rows, libraryRow{ID: x.ID, Title: x.Title, Own: x.Own})
	}
	return rows, nil
}

func engineRows(l *procedures.Library) ([]libraryRow, error) {
	rows := []libraryRow{}
	for _, p := range l.Engines().Profiles() {
		rows = append(rows, libraryRow{ID: p.ID, Title: p.Title, Own: p.Own})
	}
	return rows, nil
}

func procedureRows(l *procedures.Library) ([]libraryRow, error) {
	var rows []libraryRow
	for _, p := range l.All() {
		rows = append(rows, libraryRow{ID: p.ID, Title: p.Title, Own: p.Own})
	}
	return rows, nil
}

func ruleRows(*procedures.Library) ([]libraryRow, error) {
	var rows []libraryRow
	for _, r := range safety.Rules() {
		rows = append(rows, libraryRow{ID: r.ID, Title: r.Title})
	}
	return rows, nil
}

func hazardRows(*procedures.Library) ([]libraryRow, error) {
	all, err := safety.Hazards()
	var rows []libraryRow
	for _, h := range all {
		rows = append(rows, libraryRow{ID: h.ID, Title: h.Name})
	}
	return rows, err
}

func formulaRows(*procedures.Library) ([]libraryRow, error) {
	all, err := handbook.Formulas()
	var rows []libraryRow
	for _, f := range all {
		rows = append(rows, libraryRow{ID: f.ID, Title: f.Title})
	}
	return rows, err
}

// leaf writes the parts of a page of the library.
type leaf struct{ w io.Writer }

func (p leaf) title(kind, id, title string) { fmt.Fprintf(p.w, "%s %s: %s\n\n", kind, id, title) }

func (p leaf) text(label, text, indent string) {
	if text != "" {
		fmt.Fprintln(p.w, report.Wrap(label+text, indent, 79))
	}
}

func showEngine(w io.Writer, l *procedures.Library, id string) bool {
	for _, x := range l.Engines().Profiles() {
		if x.ID == id {
			p := leaf{w}
			p.title("engine", x.ID, x.Title)
			fmt.Fprintln(w, x.Text())
			p.text("it rests on: ", x.Source, "  ")
			fmt.Fprintln(w)
			return true
		}
	}
	return false
}

func showProcedure(w io.Writer, l *procedures.Library, id string, show quantity.Printer) bool {
	x, ok := l.ByID(id)
	if !ok {
		return false
	}
	p := leaf{w}
	p.title("procedure", x.ID, x.Title)
	for _, c := range x.Cautions {
		p.text("CAUTION  ", c, "  ")
	}
	n := 0
	for _, phase := range x.Phases {
		fmt.Fprintf(w, "\n%s\n", phase.Title)
		for _, s := range phase.Steps {
			n++
			showStep(p, fmt.Sprintf("%2d  ", n), s, show)
		}
	}
	for _, b := range x.Branches {
		fmt.Fprintf(w, "\n%s (at most %d times)\n", b.Title, b.Limit)
		for _, s := range b.Steps {
			showStep(p, "    ", s, show)
		}
	}
	fmt.Fprintln(w)
	return true
}

func showStep(p leaf, number string, s procedures.Step, show quantity.Printer) {
	p.text(number, s.Say, "")
	p.text("how: ", s.How, "      ")
	p.text("why: ", s.Why, "      ")
	if s.Demand != nil {
		p.text("proof: ", s.Demand.Ask, "      ")
	}
	if s.Hold != nil {
		p.text("HOLD  ", "a second person releases it; alone: "+s.Hold.Alone, "      ")
	}
	p.text("", fmt.Sprintf("planned %s; it rests on: %s", show.Duration(s.Takes), s.Source), "      ")
}
