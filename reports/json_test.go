package reports

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

// documents are the four JSON documents of a plan.
var documents = map[string]func(plan.Plan) ([]byte, error){
	"forecast": ForecastJSON, "plan": PlanJSON, "kits": KitsJSON, "oil": func(p plan.Plan) ([]byte, error) { return OilJSON(p.Oil) },
}

func TestDocumentsAreAsApproved(t *testing.T) {
	p := plans.Plan()
	p.Weeks, p.Arrivals, p.Curve = p.Weeks[:2], p.Arrivals[:4], p.Curve[:5] // enough to see the form
	for i := range p.Items {
		p.Items[i].Week, p.Items[i].Through = p.Items[i].Week[:2], p.Items[i].Through[:2]
	}
	for name, document := range documents {
		t.Run(name, func(t *testing.T) {
			got, err := document(p)
			if err != nil {
				t.Fatal(err)
			}
			var readable bytes.Buffer
			if err := json.Indent(&readable, got, "", "  "); err != nil {
				t.Fatal(err)
			}
			golden(t, name+".json", readable.String())
		})
	}
}

// keys are those that the documents promise other programs, in their order.
var keys = []struct{ document, path, keys string }{
	{"forecast", "", "as_of workshop schema weeks arrivals demand through"},
	{"forecast", "weeks", "week from to"},
	{"forecast", "arrivals", "week service model booked fleet returning walk_in"},
	{"forecast", "demand", "item week mean sd p10 p50 p90 p98"},
	{"forecast", "through", "item week mean sd p10 p50 p90 p98"},
	{"plan", "", "as_of workshop schema orders items readiness curve warnings limits forward chase expiring"},
	{"plan", "orders", "supplier place_by lines goods carriage total"},
	{"plan", "orders lines", "item supplier_code packs pack_qty qty price total expected_on why"},
	{"plan", "orders lines why", "cause qty"},
	{"plan", "items", "item on_hand set_aside free on_order protect_until demand_mean demand_sd order_up_to order_qty availability"},
	{"plan", "readiness", "target without_order with_order"},
	{"plan", "curve", "stock_value readiness"},
	{"plan", "limits", "kind of allowed wanted cut readiness_without readiness_with"},
	{"plan", "limits cut", "item qty"},
	{"plan", "forward", "supplier lines goods carriage_saved holding saving"},
	{"plan", "forward lines", "item supplier_code packs pack_qty qty price total expected_on why"},
	{"plan", "chase", "order supplier item packs qty due_on days_late jobs bench_date call_by why"},
	{"plan", "expiring", "item lot on_hand expires_on expected over value jobs extend_to"},
	{"kits", "", "as_of workshop schema jobs bench"},
	{"kits", "jobs", "job bench_date service model unit state lines"},
	{"kits", "jobs lines", "item need_qty probability set_aside from_free from_order arrives_on from_kit alternate short"},
	{"oil", "", "as_of workshop schema periods by_service by_model by_person episodes blame alike changes sentences counted_once limits"},
	{"oil", "periods", "item from to opening received closing drawn standard recorded unrecorded over_standard sigma z ewma cusum_high cusum_low signal " +
		"other jobs unrecorded_sigma over_standard_sigma unrecorded_cost over_standard_cost fresh left_out joined findings"},
	{"oil", "by_service", "item service jobs standard_per_job estimated_per_job low high known"},
	{"oil", "by_model", "item model jobs standard_per_job estimated_per_job low high known"},
	{"oil", "by_person", "item person jobs standard_per_job estimated_per_job low high known"},
	{"oil", "episodes", "item direction began first last ended once per_week money"},
	{"oil", "blame", "item by code prob extra share run_up run_prob"},
	{"oil", "alike", "item by a b correlation weigh_on jobs_a jobs_b"},
	{"oil", "changes", "item service model from to per_job low high jobs periods"},
	{"oil", "sentences", "item text"},
	{"oil", "limits", "lambda width k h h_low alone run_length"},
}

func TestDocumentsHaveTheKeysTheyPromise(t *testing.T) {
	for _, k := range keys {
		t.Run(k.document+" "+k.path, func(t *testing.T) {
			text, err := documents[k.document](plans.Plan())
			if err != nil {
				t.Fatal(err)
			}
			found := json.RawMessage(text)
			for step := range strings.FieldsSeq(k.path) {
				found = field(t, found, step)
			}
			if got := strings.Join(keysOf(t, found), " "); got != k.keys {
				t.Errorf("found the keys %s, expected %s", got, k.keys)
			}
		})
	}
}

// field is the value of a key, of a list's first entry.
func field(t *testing.T, object json.RawMessage, key string) json.RawMessage {
	t.Helper()
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(firstOf(t, object), &fields); err != nil {
		t.Fatalf("looking for %s: %v", key, err)
	}
	return fields[key]
}

func firstOf(t *testing.T, value json.RawMessage) json.RawMessage {
	t.Helper()
	if !bytes.HasPrefix(value, []byte("[")) {
		return value
	}
	var list []json.RawMessage
	if err := json.Unmarshal(value, &list); err != nil || len(list) == 0 {
		t.Fatalf("found %.40s (%v), expected a list with an entry", value, err)
	}
	return list[0]
}

func keysOf(t *testing.T, object json.RawMessage) []string {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(firstOf(t, object)))
	var names []string
	depth := 0
	for key := true; ; {
		token, err := d.Token()
		if err != nil {
			return names
		}
		switch delimiter, _ := token.(json.Delim); {
		case delimiter == '{' || delimiter == '[':
			depth++
			key = true
		case delimiter == '}' || delimiter == ']':
			depth--
			key = true
		case depth == 1 && key:
			names = append(names, token.(string))
			key = false
		default:
			key = true
		}
	}
}

func TestAnEmptyPlanStillHasEveryList(t *testing.T) {
	for name, document := range documents {
		text, err := document(plan.Plan{AsOf: plans.AsOf})
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(text, []byte(":null")) {
			t.Errorf("%s: found null in %s, expected empty lists", name, text)
		}
	}
}

func TestNumbersThatAreNoneAreRefused(t *testing.T) {
	p := plans.Plan()
	p.Items[0].Protection.Mean = math.NaN()
	if _, err := PlanJSON(p); err == nil || !strings.Contains(err.Error(), "plan document") {
		t.Errorf("found the error %v, expected one that names the document", err)
	}
}

func TestCausesHaveCodes(t *testing.T) {
	want := map[plan.CauseKind]string{
		plan.ForBooked: "booked", plan.ForFleet: "fleet", plan.ForReturning: "returning", plan.ForWalkIn: "walk_in",
		plan.ForReadiness: "readiness", plan.OnShelf: "on_hand", plan.Coming: "on_order", plan.WholePacks: "packs",
	}
	for kind, code := range want {
		if got := causeCode(kind); got != code {
			t.Errorf("causeCode(%q) = %q, expected %q", kind, got, code)
		}
	}
	if len(causes) != len(want) {
		t.Errorf("found %d causes, expected %d", len(causes), len(want))
	}
}

func TestTextInDocumentsStandsAsItWasTyped(t *testing.T) {
	for _, text := range hostile {
		p := plans.Plan()
		p.Workshop = text
		document, err := KitsJSON(p)
		if err != nil {
			t.Fatal(err)
		}
		var back struct {
			Workshop string `json:"workshop"`
		}
		if err := json.Unmarshal(document, &back); err != nil || back.Workshop != text {
			t.Errorf("found %q (%v), expected %q", back.Workshop, err, text)
		}
		if slices.ContainsFunc(document[:len(document)-1], func(b byte) bool { return b < ' ' }) {
			t.Errorf("found control characters in %q, expected them escaped", document)
		}
	}
}
