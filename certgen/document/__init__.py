"""What stands in a certificate or report, one file per section: records, nothing drawn yet."""
