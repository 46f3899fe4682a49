"""What a photo shows of the printed sheet: marks, number, paper, tone, a card beside them."""
