"""From a pose to flat shapes in centimetres: what a picture is made of, without pixels."""
