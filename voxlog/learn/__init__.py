"""From decided findings to proposals for the run sheet, as a diff that a person accepts or not."""
