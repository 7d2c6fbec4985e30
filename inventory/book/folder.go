package book

import "io/fs"

// Folder reads a folder of CSV files, a table a file.
func Folder(fsys fs.FS) (Source, error) { return nil, errUnwritten }
