package book

import (
	"slices"
	"strings"
)

// materials are those that seals, rings and bushings come in: rubbers by ISO
// 1629, plastics by ISO 1043-1. Other codes are legal and only warned of, for
// the storage life of a rubber is found by its code. Rubbers beyond those of
// ISO 2230 and all plastics are from memory.
var materials = []string{
	"NR", "IR", "BR", "SBR", "AU", "EU", // ISO 2230 group A
	"NBR", "HNBR", "CR", "ACM", "IIR", "ECO", "AEM", "XNBR", "CO", // group B
	"CSM", "EPDM", "EPM", "FKM", "FFKM", "FVMQ", "FMQ", "PVMQ", "PMQ", "VMQ", "MQ", "Q", // group C
	"BIIR", "CIIR", "XHNBR", "FEPM",
	"PTFE", "PA", "PA6", "PA66", "POM", "PE", "PE-UHMW", "PP", "PEEK", "PU", "PUR", "TPU", "PC", "ABS", "PET", "PVC",
}

// material warns of a code that no list has, since a slip such as NBX would
// silently give the item no storage life.
func material(text string, row *rowValues) (any, *flaw) {
	if flaw := checkText(text, codeTags); flaw != nil {
		return nil, flaw
	}
	if upper := strings.ToUpper(text); slices.Contains(materials, upper) {
		return upper, nil
	}
	row.warn(row.table.Name + ": material " + quote(text) + " is not one that is known" + suggestion(text, materials))
	return text, nil
}
