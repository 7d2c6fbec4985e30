package book

import "circlip/inventory"

// SettingsOf makes settings of the settings table's keys and values. Missing
// and blank ones take their defaults.
func SettingsOf(values map[string]string) (inventory.Settings, []Fault) {
	return inventory.Settings{}, nil
}

// SettingsText is the inverse of SettingsOf.
func SettingsText(s inventory.Settings) map[string]string { return nil }
