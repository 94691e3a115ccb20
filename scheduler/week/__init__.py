"""Coming weeks: due windows, hands, equipment and blocked cars made into worksheets."""
