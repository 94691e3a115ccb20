"""From curves to duties: windows, holds, limits and reasons."""
