"""YAML files to records: positions kept, every fault gathered as a finding."""
