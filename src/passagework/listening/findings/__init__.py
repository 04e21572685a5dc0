"""What a take shows, one module for each kind of finding; `passagework.listening.findings.table` lists them."""
