"""What every room shares and no subject: people, exact fields, form parts, paper."""
