// The rules of the house that no compiler keeps.
package weephole_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// library and inside list the packages in the order in which data flows: those that
// others may import, and the application's own. An import points only up these lists.
// A package below another in the tree ("plan/solve") counts as its parent.
var (
	library = []string{"quantity", "coolant", "sheet", "sample", "parallel", "circuit", "trace", "cause", "check", "lineup", "margin", "plan", "proof"}
	inside  = []string{"internal/exit", "internal/atomicfile", "internal/chart", "internal/job", "internal/say", "internal/work", "internal/answer", "internal/paper", "internal/tally", "internal/trial", "internal/demo", "internal/store", "internal/web"}
)

// outside are packages that the library must not know: it is handed readers and
// writers, never opens a file or a connection, and its randomness has a seed.
var outside = regexp.MustCompile(`^(os|os/.*|net|net/.*|syscall|log|log/.*|unsafe|C|math/rand|crypto/rand|database/.*)$`)

// pkg is one folder of Go files, tests left out.
type pkg struct {
	dir   string
	files []*ast.File
}

func packages(t *testing.T) (list []pkg) {
	t.Helper()
	byDir := map[string][]*ast.File{}
	set := token.NewFileSet()
	err := filepath.WalkDir(".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (name != "." && strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata" || d.Name() == "dist"):
			return filepath.SkipDir
		case d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go"):
			return nil
		}
		f, err := parser.ParseFile(set, name, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		dir := filepath.ToSlash(filepath.Dir(name))
		byDir[dir] = append(byDir[dir], f)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for dir, files := range byDir {
		list = append(list, pkg{dir, files})
	}
	slices.SortFunc(list, func(a, b pkg) int { return strings.Compare(a.dir, b.dir) })
	if len(list) < len(library) {
		t.Fatalf("found only %d packages: %v", len(list), list)
	}
	return list
}

func (p pkg) imports() (paths []string) {
	for _, f := range p.files {
		for _, spec := range f.Imports {
			if s, err := strconv.Unquote(spec.Path.Value); err == nil && !slices.Contains(paths, s) {
				paths = append(paths, s)
			}
		}
	}
	return paths
}

// parent is the package's name in the lists above.
func parent(dir string) string {
	parts := strings.Split(dir, "/")
	if parts[0] == "internal" && len(parts) > 1 {
		return parts[0] + "/" + parts[1]
	}
	return parts[0]
}

// rank is the place in the house: the library's packages first, then the
// application's, then the commands; -1 for what is not ours.
func rank(dir string) int {
	name := parent(dir)
	if i := slices.Index(slices.Concat(library, inside), name); i >= 0 {
		return i
	}
	if name == "cmd" || name == "measure" {
		return len(library) + len(inside)
	}
	return -1
}

func TestEveryPackageTellsWhatItIsAbout(t *testing.T) {
	for _, p := range packages(t) {
		longest := ""
		for _, f := range p.files {
			if text := f.Doc.Text(); len(text) > len(longest) {
				longest = text
			}
		}
		if lines := strings.Count(strings.TrimSpace(longest), "\n") + 1; lines < 3 {
			t.Errorf("%s: the package comment has %d lines; say in doc.go what the problem and the model are, what is assumed, and where it stops being true", p.dir, lines)
		}
	}
}

func TestImportsPointUpTheHouse(t *testing.T) {
	for _, p := range packages(t) {
		here := rank(p.dir)
		if here < 0 {
			t.Errorf("%s: has no place in the house; put it in internal/ or into the list of this test", p.dir)
			continue
		}
		for _, imported := range p.imports() {
			inner, ours := strings.CutPrefix(imported, "weephole/")
			if !ours {
				continue
			}
			there := rank(inner)
			if there < 0 || there > here || there == here && parent(p.dir) != parent(inner) {
				t.Errorf("%s must not import %s: data flows from %s", p.dir, inner, strings.Join(slices.Concat(library, inside), ", "))
			}
		}
	}
}

var listed = regexp.MustCompile("`([a-z/]+)`")

// The README's list is the house as a newcomer sees it.
func TestTheReadmeListsThePackagesInTheirOrder(t *testing.T) {
	src, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(src), "\n| package | is about |\n")
	table, _, _ = strings.Cut(table, "\n\n")
	var names []string
	for line := range strings.Lines(table) {
		cell, _, _ := strings.Cut(strings.TrimPrefix(line, "|"), "|")
		for _, m := range listed.FindAllStringSubmatch(cell, -1) {
			if name := parent(m[1]); !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if want := slices.Concat(library, inside, []string{"cmd", "measure"}); !slices.Equal(names, want) {
		t.Errorf("README.md lists\n%v\nand the house is\n%v", names, want)
	}
}

// strangers are packages that must not know some others, and why.
var strangers = []struct{ pkg, mustNotKnow, because string }{
	{"plan/solve", `^weephole/(quantity|coolant|sheet|circuit|trace|cause|check|lineup|internal)`, "the decision problem is stated without cars"},
	{"circuit", `^weephole/(cause|check|lineup)`, "a circuit follows its numbers, whatever is the cause of them"},
}

func TestSomePackagesStayStrangersToOthers(t *testing.T) {
	for _, rule := range strangers {
		found, unknown := false, regexp.MustCompile(rule.mustNotKnow)
		for _, p := range packages(t) {
			if p.dir != rule.pkg {
				continue
			}
			found = true
			for _, imported := range p.imports() {
				if unknown.MatchString(imported) {
					t.Errorf("%s must not import %s: %s", p.dir, imported, rule.because)
				}
			}
		}
		if !found {
			t.Errorf("%s is not there", rule.pkg)
		}
	}
}

// A reader of one package also reads those that it imports: two types of one name
// would be taken for each other. An alias is the same type and may share the name.
func TestNeighboursShareNoTypeName(t *testing.T) {
	all := packages(t)
	types := make(map[string]map[string]bool)
	for _, p := range all {
		types[p.dir] = p.exportedTypes()
	}
	for _, p := range all {
		for _, imported := range p.imports() {
			there, ours := strings.CutPrefix(imported, "weephole/")
			if !ours {
				continue
			}
			for name := range types[there] {
				if types[p.dir][name] {
					t.Errorf("%s and %s, which it imports, both have a type %s: say in one of the names how they differ", p.dir, there, name)
				}
			}
		}
	}
}

func (p pkg) exportedTypes() map[string]bool {
	names := make(map[string]bool)
	for _, f := range p.files {
		for _, d := range f.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok {
				continue
			}
			for _, s := range g.Specs {
				if ts, ok := s.(*ast.TypeSpec); ok && ts.Name.IsExported() && !ts.Assign.IsValid() {
					names[ts.Name.Name] = true
				}
			}
		}
	}
	return names
}

// mostMethods is more than a reader keeps in mind of one type.
const mostMethods = 30

func TestNoTypeOfTheBenchHasTooManyMethods(t *testing.T) {
	found := false
	for _, p := range packages(t) {
		if p.dir != "internal/web" {
			continue
		}
		found = true
		methods := make(map[string]int)
		for _, f := range p.files {
			for _, d := range f.Decls {
				if m, ok := d.(*ast.FuncDecl); ok && m.Recv != nil {
					methods[receiver(m)]++
				}
			}
		}
		for name, n := range methods {
			if n > mostMethods {
				t.Errorf("%s: %s has %d methods, more than %d: part it into types for its subjects", p.dir, name, n, mostMethods)
			}
		}
	}
	if !found {
		t.Error("internal/web is not there: this test looks for the wrong thing")
	}
}

// receiver is the name of a method's type.
func receiver(m *ast.FuncDecl) string {
	typ := m.Recv.List[0].Type
	for {
		switch x := typ.(type) {
		case *ast.StarExpr:
			typ = x.X
		case *ast.IndexExpr:
			typ = x.X
		case *ast.Ident:
			return x.Name
		default:
			return ""
		}
	}
}

func TestTheLibraryTouchesNothingOutside(t *testing.T) {
	for _, p := range packages(t) {
		if rank(p.dir) >= len(library) || p.files[0].Name.Name == "main" {
			continue
		}
		for _, imported := range p.imports() {
			if outside.MatchString(imported) {
				t.Errorf("%s must not import %s: the library is handed readers and writers and does no more", p.dir, imported)
			}
		}
	}
}

// constants are numbers of nature that stand in one place only. The second simulator
// has its own on purpose: it shares no number with the circuit.
var constants = regexp.MustCompile(`\b(9\.8(0665|066|07|1|06)?|4[23](\.\d+)?e6)\b`)

func TestAConstantOfNatureStandsInOnePlace(t *testing.T) {
	for _, p := range packages(t) {
		if p.dir == "circuit" || p.dir == "internal/trial/stranger" {
			continue
		}
		for _, f := range p.files {
			ast.Inspect(f, func(n ast.Node) bool {
				if l, ok := n.(*ast.BasicLit); ok && l.Kind == token.FLOAT && constants.MatchString(l.Value) {
					t.Errorf("%s has %s: take circuit.Gravity or circuit.FuelHeat", p.dir, l.Value)
				}
				return true
			})
		}
	}
}

// Progress, cancelling and keeping hang on the one place; the statistics draw their own
// cars and ask a bank.
func TestOnlyPackageWorkDrawsTheLineupOfAJob(t *testing.T) {
	found := false
	for _, p := range packages(t) {
		for _, f := range p.files {
			ast.Inspect(f, func(n ast.Node) bool {
				if s, ok := n.(*ast.SelectorExpr); ok && s.Sel.Name == "New" {
					if x, ok := s.X.(*ast.Ident); ok && x.Name == "lineup" {
						found = found || p.dir == "internal/work"
						if p.dir != "internal/work" {
							t.Errorf("%s calls lineup.New: ask a work.Work for its lineup", p.dir)
						}
					}
				}
				return true
			})
		}
	}
	if !found {
		t.Error("internal/work no longer calls lineup.New: this test looks for the wrong thing")
	}
}

func TestEveryExportedNameIsExplained(t *testing.T) {
	for _, p := range packages(t) {
		for _, f := range p.files {
			for _, d := range f.Decls {
				for _, name := range unexplained(d) {
					t.Errorf("%s: %s has no comment; say what it is, in which unit and range", p.dir, name)
				}
			}
		}
	}
}

// unexplained lists the exported names of a declaration that have no comment of
// their own and none on their group.
func unexplained(d ast.Decl) (names []string) {
	switch d := d.(type) {
	case *ast.FuncDecl:
		if d.Name.IsExported() && d.Doc == nil && exportedReceiver(d) && !customary[d.Name.Name] {
			names = append(names, d.Name.Name)
		}
	case *ast.GenDecl:
		for _, s := range d.Specs {
			switch s := s.(type) {
			case *ast.TypeSpec:
				if s.Name.IsExported() && s.Doc == nil && d.Doc == nil {
					names = append(names, s.Name.Name)
				}
			case *ast.ValueSpec:
				for _, n := range s.Names {
					if n.IsExported() && s.Doc == nil && s.Comment == nil && d.Doc == nil {
						names = append(names, n.Name)
					}
				}
			}
		}
	}
	return names
}

// customary are methods whose meaning the standard library's interfaces fix.
var customary = map[string]bool{
	"Error": true, "Unwrap": true, "String": true, "Read": true, "Write": true, "Close": true,
	"Len": true, "Less": true, "Swap": true, "Set": true, "Type": true,
}

func exportedReceiver(d *ast.FuncDecl) bool {
	if d.Recv == nil || len(d.Recv.List) == 0 {
		return true
	}
	name := receiver(d)
	return name == "" || ast.IsExported(name)
}

func TestTheModuleStandsByItself(t *testing.T) {
	for _, name := range []string{"go.mod", "tools.mod"} {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(src)) {
			switch word, _, _ := strings.Cut(strings.TrimSpace(line), " "); word {
			case "replace", "exclude", "toolchain":
				t.Errorf("%s: %q keeps others from installing it with go install", name, strings.TrimSpace(line))
			}
		}
	}
}

var link = regexp.MustCompile(`\]\(([^)#\s]+)[^)]*\)`)

func TestLinksInTheManualsLeadSomewhere(t *testing.T) {
	manuals, err := filepath.Glob("docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	decisions, err := filepath.Glob("docs/decisions/*.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range append(append(manuals, decisions...), "README.md", "CONTRIBUTING.md", "CHANGELOG.md") {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Error(err)
			continue
		}
		for _, m := range link.FindAllStringSubmatch(string(src), -1) {
			if strings.Contains(m[1], "://") {
				continue
			}
			if _, err := os.Stat(path.Join(path.Dir(name), m[1])); err != nil {
				t.Errorf("%s links to %s, which is not there", name, m[1])
			}
		}
	}
}
