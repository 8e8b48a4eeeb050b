// Package record makes records and fields of the bytes of a CSV file: which
// encoding they stand in, where a row ends and where a field, in whatever way a
// program may have written them. What the fields mean it does not ask.
package record
