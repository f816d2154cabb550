package page

import (
	"crypto/sha256"
	"encoding/base64"
	"html"
	"html/template"
	"io"
	"regexp"
	"sync"

	"daytank/procedures/report"
)

// Row is a job of the index.
type Row struct {
	report.ReviewRow
	File string // beside the index
	Head string
}

// Index is the list over many reports: it opens from a shared folder without a server.
type Index struct {
	Rows []Row
	Shop string
}

// sorting lets the table be sorted by a column, and filtered by asset, state and result.
// Without it the table is as it was written.
const sorting = `"use strict";
(function(){
var body=document.querySelector("tbody"),rows=Array.prototype.slice.call(body.rows);
var boxes=document.querySelectorAll("select");
function text(r,i){return r.cells[i].textContent}
boxes.forEach(function(box){
var i=Number(box.dataset.column),seen={};
rows.forEach(function(r){seen[text(r,i)]=true});
Object.keys(seen).sort().forEach(function(v){var o=document.createElement("option");o.textContent=v;box.appendChild(o)});
box.addEventListener("change",filter)});
function filter(){rows.forEach(function(r){
var keep=true;boxes.forEach(function(box){if(box.selectedIndex>0&&text(r,Number(box.dataset.column))!==box.value)keep=false});
r.hidden=!keep})}
document.querySelectorAll("th button").forEach(function(b){b.addEventListener("click",function(){
var th=b.parentNode,i=th.cellIndex,up=th.getAttribute("aria-sort")!=="ascending",number=th.classList.contains("n");
th.parentNode.querySelectorAll("th").forEach(function(x){x.removeAttribute("aria-sort")});
th.setAttribute("aria-sort",up?"ascending":"descending");
rows.sort(function(a,b){var x=text(a,i),y=text(b,i);var c=number?Number(x)-Number(y):(x<y?-1:x>y?1:0);return up?c:-c});
rows.forEach(function(r){body.appendChild(r)})})});
document.querySelector("form").hidden=false
})();
`

// indexShown is an index as its template sees it.
type indexShown struct {
	Index
	Script template.JS
	Digest string
}

// Write writes the index as HTML.
func (x Index) Write(w io.Writer) error {
	sum := sha256.Sum256([]byte(sorting))
	return render(w, "index.html", indexShown{x, template.JS(sorting), base64.StdEncoding.EncodeToString(sum[:])})
}

// stamped is what a report says of itself at its top.
var stamped = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`<meta name="report-stamp" content="([0-9a-f]+)">\s*<meta name="report-tests" content="([^"]*)">`)
})

// topOfReport is how much of a report is read for its stamp, in bytes.
const topOfReport = 16 << 10

// Stamp reads from a report that was written its stamp, and what the tests came to; false
// where there is no such report. Whoever writes reports gives the stamp, so that a report
// which would come out the same need not be made again.
func Stamp(written io.Reader) (stamp, result string, ok bool) {
	top, err := io.ReadAll(io.LimitReader(written, topOfReport))
	if err != nil {
		return "", "", false
	}
	m := stamped().FindSubmatch(top)
	if m == nil {
		return "", "", false
	}
	return string(m[1]), html.UnescapeString(string(m[2])), true
}
