//! Maps from names that the user chooses, in the order of the file.

use std::borrow::Cow;
use std::collections::HashSet;
use std::fmt;
use std::marker::PhantomData;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Deserialize, Deserializer, MapAccess, Visitor};

/// Values by name, in the order of the file; a name given twice is refused.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Named<T>(pub(crate) Vec<(String, T)>);

impl<T> Default for Named<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Named<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Entries<T>(PhantomData<T>);

        impl<'de, T: Deserialize<'de>> Visitor<'de> for Entries<T> {
            type Value = Named<T>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a group of named entries")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Named<T>, A::Error> {
                let mut entries: Vec<(String, T)> = Vec::new();
                let mut known = HashSet::new();
                while let Some((name, value)) = map.next_entry::<String, T>()? {
                    if !known.insert(name.clone()) {
                        return Err(de::Error::custom(format_args!("duplicate field `{name}`")));
                    }
                    entries.push((name, value));
                }
                Ok(Named(entries))
            }
        }

        deserializer.deserialize_map(Entries(PhantomData))
    }
}

impl<T: JsonSchema> JsonSchema for Named<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("Named{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let entry = generator.subschema_for::<T>();
        json_schema!({"type": "object", "additionalProperties": entry})
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_is_kept_and_doubles_are_refused() {
        let named: Named<f64> = serde_json::from_str(r#"{"b": 1, "a": 2}"#).unwrap();
        assert_eq!(named.0, [("b".to_owned(), 1.0), ("a".to_owned(), 2.0)]);
        let double = serde_json::from_str::<Named<f64>>(r#"{"a": 1, "a": 2}"#);
        assert!(double.is_err_and(|e| e.to_string().starts_with("duplicate field `a`")));
    }
}
