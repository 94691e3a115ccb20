"""The weeks ahead: due windows, hands, equipment and blocked cars made into worksheets."""
